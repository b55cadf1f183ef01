package demo

import (
	"errors"
	"math"
	"sync"

	"strop/dsp"
	"strop/dsp/measure"
)

// loudnessLUFS is that of every rough mix and of the noise. It is our own
// choice: it leaves room for any drill and is no target for anybody's mix.
const loudnessLUFS = -20

// Fader is where a stem stands in the rough mix.
type Fader struct {
	GainDB   float64
	Pan      float64 // −1 left, 1 right; constant power
	Muted    bool    // it plays nothing in this take
	Inverted bool
}

// Faders are those of the rough mix, one a stem: Rough is the sum of the stems
// through them.
func (r *Rendered) Faders() ([]Fader, error) {
	ratios := r.mixRatios()
	mix := make([]dsp.Frame, r.Frames)
	for i := range r.Stems {
		r.Stems[i].addTo(mix, ratios[i])
	}
	is := measure.IntegratedLUFS(mix, rateHz)
	if math.IsInf(is, 0) || math.IsNaN(is) {
		return nil, errNothing
	}
	faders := make([]Fader, len(r.Stems))
	for i, st := range r.Stems {
		level := math.Hypot(ratios[i][0], ratios[i][1]) / math.Sqrt2
		faders[i] = Fader{Pan: st.pan, Muted: level == 0, Inverted: st.Inverted}
		if level > 0 {
			faders[i].GainDB = dsp.ToDB(level) + loudnessLUFS - is
		}
	}
	return faders, nil
}

var errNothing = errors.New("there is nothing to be heard in it")

// Rough is a stereo mix by loudness and place alone: each stem is set to its
// loudness by one gain and placed with constant power, a pair that was wired
// the wrong way round on purpose is turned back. Stereo stems keep their
// width; a stem that plays nothing in this take is left out.
func (r *Rendered) Rough() ([]dsp.Frame, error) {
	ratios := r.mixRatios()
	mix := make([]dsp.Frame, r.Frames)
	for i := range r.Stems {
		r.Stems[i].addTo(mix, ratios[i])
	}
	return mix, setLoudness(mix, loudnessLUFS)
}

// mixRatios are the gains of both channels of each stem.
func (r *Rendered) mixRatios() []dsp.Frame {
	ratios := make([]dsp.Frame, len(r.Stems))
	var all sync.WaitGroup
	for i := range r.Stems {
		all.Go(func() { ratios[i] = r.Stems[i].mixRatio() })
	}
	all.Wait()
	return ratios
}

func (st *Stem) mixRatio() dsp.Frame {
	lufs := st.loudness()
	if math.IsInf(lufs, 0) {
		return dsp.Frame{}
	}
	gain := dsp.FromDB(st.mixLUFS - lufs)
	if st.Inverted {
		gain = -gain
	}
	angle := (st.pan + 1) * math.Pi / 4
	return dsp.Frame{gain * math.Sqrt2 * math.Cos(angle), gain * math.Sqrt2 * math.Sin(angle)}
}

// loudness of the stem, on both channels.
func (st *Stem) loudness() float64 {
	meter := measure.NewLoudnessMeter(rateHz, 2)
	buf := make([]dsp.Frame, 4800)
	for from := 0; ; {
		n := st.read(buf, from)
		if n == 0 {
			return meter.Result().IntegratedLUFS
		}
		meter.Process(buf[:n])
		from += n
	}
}

func (st *Stem) addTo(mix []dsp.Frame, ratio dsp.Frame) {
	left, right := st.PCM[0], st.PCM[len(st.PCM)-1]
	for i := range mix {
		mix[i][0] += ratio[0] * float64(left[i])
		mix[i][1] += ratio[1] * float64(right[i])
	}
}

// setLoudness brings frames to a loudness by one gain.
func setLoudness(frames []dsp.Frame, lufs float64) error {
	is := measure.IntegratedLUFS(frames, rateHz)
	if math.IsInf(is, 0) || math.IsNaN(is) {
		return errNothing
	}
	dsp.Gain(dsp.FromDB(lufs - is)).Process(frames)
	return nil
}
