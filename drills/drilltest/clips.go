package drilltest

import (
	"context"
	"math"
	"slices"
	"sync"

	"strop/content"
	"strop/content/demo"
	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
)

// songs are the materials of the family test, each a few seconds: a band, a
// ballad, hip-hop, speech, all as stems, and a mix without stems.
var songs = []string{"kettle", "smallhours", "corner", "ledger"}

const (
	clipAtS = 12.0
	clipS   = 2.5
)

var rendered = sync.OnceValues(func() ([]drills.Clip, error) {
	clips := make([]drills.Clip, len(songs))
	errs := make([]error, len(songs))
	var all sync.WaitGroup
	for i, name := range songs {
		all.Go(func() { clips[i], errs[i] = renderClip(name) })
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	mix := clips[0]
	mix.Stems, mix.Name = nil, "a mix alone"
	return append(clips, mix), nil
})

// Songs are five clips of two and a half seconds to ask drills on: a band, a ballad,
// hip-hop and speech, each as stems, and a mix without. They are rendered once.
func Songs() ([]drills.Clip, error) { return rendered() }

// renderClip makes a loop of a song: every stem equally loud, spread over the
// stereo field, mono stems at constant power.
func renderClip(name string) (c drills.Clip, err error) {
	song, err := demo.FindSong(name)
	if err != nil {
		return c, err
	}
	r, err := song.Render(context.Background(), 1, func(float64) {})
	if err != nil {
		return c, err
	}
	at, n := int(clipAtS*r.RateHz), int(clipS*r.RateHz)
	c = drills.Clip{Name: name, Loop: drills.Loop{Material: name, StartFrame: at, Frames: n, RateHz: r.RateHz}, Frames: make([]dsp.Frame, n)}
	if beat, _ := slices.BinarySearch(r.Beats, at); beat < len(r.Beats) {
		c.Beats = drills.Beats{TempoBPM: r.TempoBPM, FirstS: float64(r.Beats[beat]-at) / r.RateHz}
	}
	pairs := r.Pairs()
	for i, st := range r.Stems {
		frames := placed(st, i, at, n)
		for k, f := range frames {
			c.Frames[k][0] += f[0]
			c.Frames[k][1] += f[1]
		}
		facts := measure.FactsOf(frames, r.RateHz)
		stem := drills.Stem{Name: st.Name, Role: drills.Role(st.Role), Facts: facts, Traits: traits(frames, r.RateHz)}
		stem.Load = func() ([]dsp.Frame, error) { return frames, nil }
		for _, other := range pairs[st.Pair] {
			if other != i {
				stem.Pair = other + 1
			}
		}
		c.Stems = append(c.Stems, stem)
	}
	c.Facts = measure.FactsOf(c.Frames, r.RateHz)
	return c, nil
}

func placed(st demo.Stem, i, at, n int) []dsp.Frame {
	frames := make([]dsp.Frame, n)
	for ch := range 2 {
		pcm := st.PCM[min(ch, len(st.PCM)-1)]
		for k := range frames {
			if at+k < len(pcm) {
				frames[k][ch] = float64(pcm[at+k])
			}
		}
	}
	lufs := measure.IntegratedLUFS(frames, 48000)
	if math.IsInf(lufs, 0) {
		return frames
	}
	angle := (float64(i%5)/4*0.8 + 0.1) * math.Pi / 2
	for k := range frames {
		g := dsp.FromDB(-28 - lufs)
		frames[k][0] *= g * math.Sqrt2 * math.Cos(angle)
		frames[k][1] *= g * math.Sqrt2 * math.Sin(angle)
	}
	return frames
}

// traits are what a stem does, as a material measures it.
func traits(frames []dsp.Frame, rateHz float64) drills.Traits {
	f := content.FitOf(frames, rateHz)
	return drills.Traits{OnsetsPerS: f.OnsetsPerS, CrestDB: f.CrestDB, Sustained: f.Sustained, Gaps: f.Gaps, Pitched: f.Pitched, SideDB: f.SideDB}
}
