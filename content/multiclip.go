package content

import (
	"cmp"
	"context"
	"math"
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
	fit   Fit
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
		f.fit = fitOf(c.Frames, c.Loop.RateHz, c.Facts)
		f.stems, f.err = m.measure(ctx, c)
	})
	if f.err != nil {
		m.mu.Lock()
		delete(m.known, loop) // somebody else may have more patience
		m.mu.Unlock()
		return Clip{}, f.err
	}
	c.Fit, c.Stems, c.Beats = f.fit, slices.Clone(f.stems), f.beats
	return c, nil
}

// heardLU is how far under the mix a stem may lie and still be measured. Common
// practice, no source. Of a session with more stems than mostMeasured in a loop,
// the loudest are; nothing is asked about the others there.
const (
	heardLU      = 40.0
	mostMeasured = 48
)

// measure makes the stems of a clip.
func (m *Multitrack) measure(ctx context.Context, c Clip) ([]ClipStem, error) {
	sheet := m.Sheet()
	n := len(sheet.Stems)
	stems, lufs, errs := make([]ClipStem, n), make([]float64, n), make([]error, n)
	together(n, func(i int) {
		s := sheet.Stems[i]
		stems[i] = ClipStem{Name: s.Name, Role: s.Role, Partner: sheet.Partner(i) + 1, Fader: sheet.Faders[i], Fit: silentFit()}
		lufs[i], errs[i] = m.loudnessIn(ctx, i, c)
	})
	heard := loudest(lufs, c.Facts.LoudnessLUFS-heardLU, mostMeasured)
	together(len(heard), func(k int) {
		i := heard[k]
		stems[i].Fit, errs[i] = m.fit(ctx, i, c)
	})
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return stems, nil
}

// loudest are the indices of at most n levels above a least one.
func loudest(lufs []float64, least float64, n int) (heard []int) {
	for i, l := range lufs {
		if l > least {
			heard = append(heard, i)
		}
	}
	slices.SortStableFunc(heard, func(a, b int) int { return cmp.Compare(lufs[b], lufs[a]) })
	return heard[:min(n, len(heard))]
}

// loudnessIn is that of a stem in a loop.
func (m *Multitrack) loudnessIn(ctx context.Context, stem int, c Clip) (float64, error) {
	if kept, ok := m.keptFit(stem, c); ok {
		return infiniteDB(kept.LoudnessLUFS), nil
	}
	if m.Sheet().Faders[stem].Muted {
		return math.Inf(-1), nil
	}
	frames, err := m.InMix(ctx, stem, int64(c.Loop.StartFrame), c.Loop.Frames)
	return measure.IntegratedLUFS(frames, c.Loop.RateHz), err
}

// fit measures a stem in a loop, or finds what was kept of it.
func (m *Multitrack) fit(ctx context.Context, stem int, c Clip) (Fit, error) {
	if kept, ok := m.keptFit(stem, c); ok {
		return kept, nil
	}
	frames, err := m.InMix(ctx, stem, int64(c.Loop.StartFrame), c.Loop.Frames)
	if err != nil {
		return Fit{}, err
	}
	f, sheet := FitOf(frames, c.Loop.RateHz), m.Sheet()
	m.fits.put(c.Loop, sheet.Stems[stem].Name, sheet.Faders[stem], f)
	return f, nil
}

func (m *Multitrack) keptFit(stem int, c Clip) (Fit, bool) {
	sheet := m.Sheet()
	return m.fits.find(c.Loop, sheet.Stems[stem].Name, sheet.Faders[stem])
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
