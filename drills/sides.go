package drills

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"strop/dsp"
	"strop/dsp/measure"
)

const (
	// PlayLUFS is the loudness at which every side is played, and at which
	// the level noise is set before practice: what the listener set once
	// stays right for every loop. It is a convention of this program, no
	// target for a mix.
	PlayLUFS = -23.0
	// CeilingDBTP is the true peak that no side exceeds. Where matching would
	// pass it, all sides of a trial are lowered alike.
	CeilingDBTP = -1.0
	// MatchLU is how close in loudness the sides of a trial are.
	MatchLU = 0.1
)

// A side is a loop rendered, and what was measured of it before any gain.
type side struct {
	mixdown
	measured
	gainDB float64
}

// measured is what was measured of a sound.
type measured struct {
	lufs, dbtp float64
	excitation measure.Excitation
}

// measureWith measures how loud a sound is, and with an ear what it does there.
func measureWith(ear *measure.AudibilityMeter, frames []dsp.Frame, rateHz float64) (m measured) {
	var listening sync.WaitGroup
	if ear != nil {
		listening.Go(func() { m.excitation = ear.Excite(frames) })
	}
	m.lufs = measure.IntegratedLUFS(frames, rateHz)
	m.dbtp = measure.TruePeakDBTP(frames, rateHz)
	listening.Wait()
	return m
}

// check reports a side that is too quiet to be matched.
func (s *side) check(name string) error {
	if math.IsInf(s.lufs, 0) || math.IsNaN(s.lufs) {
		return unfit{fmt.Errorf("%s is too quiet to be compared", name)}
	}
	return nil
}

// apply gives s its gain, for good.
func (s *side) apply(gainDB float64) {
	s.gainDB = gainDB
	one := s.one()
	s.whole = turned(s.whole, dsp.FromDB(gainDB))
	if one {
		s.alone = s.whole
	} else {
		s.alone = turned(s.alone, dsp.FromDB(gainDB))
	}
}

// turned is frames multiplied by a ratio.
func turned(frames []dsp.Frame, ratio float64) []dsp.Frame {
	out := make([]dsp.Frame, len(frames))
	for i, f := range frames {
		out[i] = dsp.Frame{ratio * f[0], ratio * f[1]}
	}
	return out
}

// apply gives every side its gain, all at a time.
func apply(gainsDB []float64, sides []*side) {
	var turning sync.WaitGroup
	for i, s := range sides {
		turning.Go(func() { s.apply(gainsDB[i]) })
	}
	turning.Wait()
}

// one reports whether what a trial is about is all that is heard.
func (m *mixdown) one() bool { return len(m.alone) > 0 && &m.alone[0] == &m.whole[0] }

// solo is what a trial is about, alone; nil where that is all that is heard.
func (s *side) solo() []dsp.Frame {
	if s.one() {
		return nil
	}
	return s.alone
}

// match brings sides to one loudness, lufs or as far below it as the ceiling
// asks.
func match(lufs float64, sides ...*side) float64 {
	for _, s := range sides {
		lufs = min(lufs, s.lufs+CeilingDBTP-s.dbtp)
	}
	gainsDB := make([]float64, len(sides))
	for i, s := range sides {
		gainsDB[i] = lufs - s.lufs
	}
	apply(gainsDB, sides)
	return lufs
}

// level gives sides one gain, where level is what is asked: the first plays
// roomLU under lufs, or as far below that as the ceiling asks. roomLU is what
// the change that is asked about makes in loudness, either way, so that how
// loud the first is tells neither which way it goes nor that nothing is done.
func level(lufs, roomLU float64, sides ...*side) (gainDB float64) {
	gainDB = lufs - math.Abs(roomLU) - sides[0].lufs
	for _, s := range sides {
		gainDB = min(gainDB, lufs-s.lufs, CeilingDBTP-s.dbtp)
	}
	gainsDB := make([]float64, len(sides))
	for i := range sides {
		gainsDB[i] = gainDB
	}
	apply(gainsDB, sides)
	return gainDB
}

// hold keeps a change on a stem from making the stem louder or softer, which
// would give it away: what the trial is about is brought to a loudness, and what
// is heard with it, by heldDB. It does nothing where either is silent, or where it
// is all that is heard.
func (m *mixdown) hold(lufs, rateHz float64) (heldDB float64) {
	if m.one() {
		return 0
	}
	heldDB = lufs - measure.IntegratedLUFS(m.alone, rateHz)
	if math.IsInf(heldDB, 0) || math.IsNaN(heldDB) {
		return 0
	}
	m.correct(heldDB)
	return heldDB
}

// correct turns the part of the mix that a trial is about by gainDB.
func (m *mixdown) correct(gainDB float64) {
	if m.shared {
		m.alone, m.whole, m.shared = slices.Clone(m.alone), slices.Clone(m.whole), false
	}
	more := dsp.FromDB(gainDB) - 1
	whole := m.whole[:len(m.alone)]
	for i, f := range m.alone {
		whole[i][0] += more * f[0]
		whole[i][1] += more * f[1]
		m.alone[i] = dsp.Frame{(1 + more) * f[0], (1 + more) * f[1]}
	}
}
