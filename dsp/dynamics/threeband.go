package dynamics

import (
	"math"

	"strop/dsp"
)

// threeBandKneeDB is common practice, no source.
const threeBandKneeDB = 6

// ThreeBand compresses bass, middle and treble each for itself.
//
//	lowHz, highHz                        where the bands meet                           50 to 800 Hz, 1000 to 10000 Hz
//	lowThresholdDB, mid…, high…          level in the band above which it acts          −60 to 0 dB
//	lowRatio, midRatio, highRatio        dB in per dB out above it                      1 to 20; 1 does nothing
//	attackMS, releaseMS                  as in Compressor, of all bands                 0.05 to 200 ms, 10 to 2000 ms
//
// The bands are split by Linkwitz–Riley filters of 24 dB/oct, and the bass
// passes the all-pass of the upper crossover, so that the bands stay in phase:
// their sum is the sound through two all-passes of second order, of gain 1 at
// every frequency. The sound takes that path whatever the ratios are: Path
// states it. To compare with nothing done, set the ratios to 1 and leave lowHz
// and highHz as they are.
//
// Knee 6 dB, linked channels, no latency, no make-up gain.
//
// Source: S. Linkwitz, R. Riley, Active crossover networks for noncoincident
// drivers, JAES 24(1) (1976) (from memory); curve and detector of Compressor.
var ThreeBand = dsp.Spec{
	ID:     "threeband",
	Name:   "three-band compressor",
	Doc:    "Compresses bass, middle and treble each for itself.",
	Source: "Linkwitz & Riley, JAES 24(1), 1976; Giannoulis, Massberg & Reiss, JAES 60(6), 2012",
	Params: []dsp.Param{crossLow, crossHigh, bandThreshold[0], bandRatio[0], bandThreshold[1], bandRatio[1],
		bandThreshold[2], bandRatio[2], attack, release},
	Build: buildThreeBand,
	Path: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
		return allPass(s.Get(crossLow), rateHz, freqHz) * allPass(s.Get(crossHigh), rateHz, freqHz)
	},
}

var (
	crossLow      = dsp.Param{ID: "lowHz", Name: "lower crossover", Unit: "Hz", Min: 50, Max: 800, Neutral: 200, Scale: dsp.Log}
	crossHigh     = dsp.Param{ID: "highHz", Name: "upper crossover", Unit: "Hz", Min: 1000, Max: 10000, Neutral: 2500, Scale: dsp.Log}
	bandThreshold = [bands]dsp.Param{ofBand(threshold, "lowThresholdDB", "bass"), ofBand(threshold, "midThresholdDB", "middle"), ofBand(threshold, "highThresholdDB", "treble")}
	bandRatio     = [bands]dsp.Param{ofBand(ratio, "lowRatio", "bass"), ofBand(ratio, "midRatio", "middle"), ofBand(ratio, "highRatio", "treble")}
)

func ofBand(p dsp.Param, id, band string) dsp.Param {
	p.ID, p.Name = id, band+" "+p.Name
	return p
}

func buildThreeBand(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
	if err := belowHalfRate(rateHz, s.Get(crossHigh)); err != nil {
		return nil, err
	}
	t := &threeBand{}
	for i := range t.bands {
		var err error
		t.bands[i], err = newDownward(rateHz, s.Get(bandThreshold[i]), s.Get(bandRatio[i]), threeBandKneeDB, s.Get(attack), s.Get(release))
		if err != nil {
			return nil, err
		}
	}
	low, high := newSVF(s.Get(crossLow), rateHz), newSVF(s.Get(crossHigh), rateHz)
	t.lower, t.upper = crossover{low, low, low}, crossover{high, high, high}
	t.bass = high
	return t, nil
}

// allPass is the response of svf.pass.
func allPass(cornerHz, rateHz, freqHz float64) complex128 {
	w := math.Tan(math.Pi*freqHz/rateHz) / math.Tan(math.Pi*cornerHz/rateHz)
	return complex(1-w*w, -damping*w) / complex(1-w*w, damping*w)
}

const bands = 3

type threeBand struct {
	bands        [bands]downward
	lower, upper crossover
	bass         svf // the all-pass of the upper one
	part         [bands][block]dsp.Frame
	x            [block]float64
}

var (
	_ dsp.Processor = (*threeBand)(nil)
	_ Reducer       = (*threeBand)(nil)
)

// Reset forgets what it heard.
func (t *threeBand) Reset() {
	for i := range t.bands {
		t.bands[i].reset()
	}
	t.lower.reset()
	t.upper.reset()
	t.bass.reset()
}

// ReductionDB is the mean over the bands, and of the most the greatest.
func (t *threeBand) ReductionDB() (mean, most float64) {
	for i := range t.bands {
		m, top := t.bands[i].ReductionDB()
		mean += m / bands
		most = max(most, top)
	}
	return mean, most
}

// Process compresses buf in place.
func (t *threeBand) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), block)
		t.split(buf[:n])
		clear(buf[:n])
		for i := range t.bands {
			t.bands[i].reductions(t.x[:n], t.part[i][:n], math.Inf(1))
			gains(t.x[:n], 0, 1)
			add(buf[:n], t.part[i][:n], t.x[:n])
		}
		buf = buf[n:]
	}
}

// split cuts buf into the bands.
func (t *threeBand) split(buf []dsp.Frame) {
	bass, middle, treble := t.part[0][:len(buf)], t.part[1][:len(buf)], t.part[2][:len(buf)]
	copy(bass, buf)
	t.lower.split(bass, middle)
	t.bass.pass(bass)
	t.upper.split(middle, treble)
}

// add adds part, times gain, to buf.
func add(buf, part []dsp.Frame, gain []float64) {
	part, gain = part[:len(buf)], gain[:len(buf)]
	for i, g := range gain {
		buf[i][0] += g * part[i][0]
		buf[i][1] += g * part[i][1]
	}
}
