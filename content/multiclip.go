package content

import (
	"context"
	"math"
	"runtime"
	"slices"
	"sync"

	"strop/dsp"
	"strop/dsp/measure"
)

// ClipStem is a stem of a loop, as loud and where it is in the rough mix. Its
// frames are not part of it, because those of 150 stems take a gigabyte:
// Multitrack.InMix gives them.
type ClipStem struct {
	Name    string
	Role    Role
	Partner int // number of the other stem of its pair, from 1; 0: none
	Fader   Fader
	Fit     Fit // Silent where it does not play
}

// Beats is the grid that a loop is played to.
type Beats struct {
	TempoBPM float64 // 0: unknown
	FirstS   float64 // time of the first beat in the loop
}

// fitting is what is measured of a loop, by one caller while others wait.
type fitting struct {
	once  sync.Once
	stems []ClipStem
	beats Beats
	err   error
}

// Clip is the i-th loop with its stems. It waits until that loop is known, and
// measures whatever stem can be heard in it, which takes about 20 ms of one
// core each, once.
func (m *Multitrack) Clip(ctx context.Context, i int) (Clip, error) {
	loop, err := m.loops.Loop(ctx, i)
	if err != nil {
		return Clip{}, err
	}
	return m.Find(ctx, loop)
}

// Find is a loop of this material as it was recorded, with its stems.
func (m *Multitrack) Find(ctx context.Context, loop Loop) (Clip, error) {
	c, err := m.loops.Find(ctx, loop)
	if err != nil {
		return Clip{}, err
	}
	if err := m.Ready(ctx); err != nil {
		return Clip{}, err
	}
	m.mu.Lock()
	f := m.known[loop]
	if f == nil {
		f = new(fitting)
		m.known[loop] = f
	}
	m.mu.Unlock()
	f.once.Do(func() {
		f.beats = m.beatsOf(c)
		f.stems, f.err = m.measure(ctx, c)
	})
	if f.err != nil {
		m.mu.Lock()
		delete(m.known, loop) // somebody else may have more patience
		m.mu.Unlock()
		return Clip{}, f.err
	}
	c.Stems, c.Beats = slices.Clone(f.stems), f.beats
	return c, nil
}

// heardLU is how far under the mix a stem may lie and still be measured. Common
// practice, no source.
const heardLU = 40.0

// measure makes the stems of a clip.
func (m *Multitrack) measure(ctx context.Context, c Clip) ([]ClipStem, error) {
	sheet := m.Sheet()
	stems, errs := make([]ClipStem, len(sheet.Stems)), make([]error, len(sheet.Stems))
	together(len(stems), func(i int) {
		s := sheet.Stems[i]
		stems[i] = ClipStem{Name: s.Name, Role: s.Role, Partner: sheet.Partner(i) + 1, Fader: sheet.Faders[i]}
		stems[i].Fit, errs[i] = m.fit(ctx, i, c)
	})
	runtime.GC() // the frames of all stems
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return stems, nil
}

// fit measures a stem in a loop, or finds what was kept of it.
func (m *Multitrack) fit(ctx context.Context, stem int, c Clip) (Fit, error) {
	sheet := m.Sheet()
	if kept, ok := m.fits.find(c.Loop, sheet.Stems[stem].Name, sheet.Faders[stem]); ok {
		return kept, nil
	}
	frames := c.Frames
	if len(sheet.Stems) > 1 || sheet.Faders[stem] != (Fader{}) {
		var err error
		if frames, err = m.InMix(ctx, stem, int64(c.Loop.StartFrame), c.Loop.Frames); err != nil {
			return Fit{}, err
		}
	}
	f := silentFit()
	if lufs := measure.IntegratedLUFS(frames, c.Loop.RateHz); lufs > c.Facts.LoudnessLUFS-heardLU {
		f = FitOf(frames, c.Loop.RateHz)
	}
	m.fits.put(c.Loop, sheet.Stems[stem].Name, sheet.Faders[stem], f)
	return f, nil
}

func silentFit() Fit {
	return Fit{LoudnessLUFS: NothingDB, TruePeakDBTP: NothingDB, TotalDB: NothingDB, SideDB: NothingDB, Gaps: 1}.bandless()
}

func (f Fit) bandless() Fit {
	for i := range f.BandsDB {
		f.BandsDB[i] = NothingDB
	}
	return f
}

// beatsOf is the grid of a loop: that of the score, else what is found in the
// loop, a beat being what people tap to.
func (m *Multitrack) beatsOf(c Clip) Beats {
	score := m.Sheet().Score
	start, rateHz := c.Loop.StartFrame, c.Loop.RateHz
	if i, _ := slices.BinarySearch(score.Beats, start); i < len(score.Beats) {
		return Beats{TempoBPM: score.TempoBPM, FirstS: float64(score.Beats[i]-start) / rateHz}
	}
	return beatsIn(c.Frames, rateHz)
}

func beatsIn(buf []dsp.Frame, rateHz float64) Beats {
	h := lookAtFrames(held(buf), rateHz, 0, int64(len(buf)))
	if len(h.power) == 0 {
		return Beats{}
	}
	r := findRhythm(h.onsets(), h.rateHz)
	if len(r.beats) == 0 || !(r.period > 0) || math.IsInf(r.period, 0) {
		return Beats{}
	}
	return Beats{TempoBPM: 60 * h.rateHz / r.period, FirstS: float64(r.beats[0]) / h.rateHz}
}
