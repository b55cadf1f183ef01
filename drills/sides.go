package drills

import (
	"fmt"
	"math"

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
	lufs   float64
	dbtp   float64
	gainDB float64
}

// newSide lays inserts on a loop and measures what comes out.
func (s *Session) newSide(t Trial, c Clip, solo []int, inserts []Insert) (*side, error) {
	m, err := mixed(c, t.Condition.Heard, solo, inserts)
	if err != nil {
		return nil, err
	}
	sd := &side{mixdown: m}
	sd.lufs = measure.IntegratedLUFS(sd.whole, c.Loop.RateHz)
	sd.dbtp = measure.TruePeakDBTP(sd.whole, c.Loop.RateHz)
	if math.IsInf(sd.lufs, 0) || math.IsNaN(sd.lufs) {
		return nil, unfit{fmt.Errorf("%s is too quiet to be compared", c.Name)}
	}
	return sd, nil
}

// apply gives s its gain, for good.
func (s *side) apply(gainDB float64) {
	s.gainDB = gainDB
	gain := dsp.Gain(dsp.FromDB(gainDB))
	gain.Process(s.whole)
	if !s.one() {
		gain.Process(s.alone)
	}
}

// one reports whether what a trial is about is all that is heard.
func (s *side) one() bool { return len(s.alone) > 0 && &s.alone[0] == &s.whole[0] }

// match brings sides to one loudness, lufs or as far below it as the ceiling
// asks.
func match(lufs float64, sides ...*side) float64 {
	for _, s := range sides {
		lufs = min(lufs, s.lufs+CeilingDBTP-s.dbtp)
	}
	for _, s := range sides {
		s.apply(lufs - s.lufs)
	}
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
	for _, s := range sides {
		s.apply(gainDB)
	}
	return gainDB
}

// hold keeps a change on a stem from making the stem louder or softer, which
// would give it away: what the trial is about is brought back to the loudness
// it had, which is returned, and what is heard with it. It does nothing where
// either is silent.
func hold(untouched, changed *side, rateHz float64) (aloneLUFS float64) {
	if untouched.one() || changed.one() {
		return 0
	}
	aloneLUFS = measure.IntegratedLUFS(untouched.alone, rateHz)
	holdAt(aloneLUFS, changed, rateHz)
	return aloneLUFS
}

// holdAt brings what the trial is about to a loudness.
func holdAt(lufs float64, s *side, rateHz float64) {
	if s.one() {
		return
	}
	if d := lufs - measure.IntegratedLUFS(s.alone, rateHz); !math.IsInf(d, 0) && !math.IsNaN(d) {
		s.correct(d, rateHz)
	}
}

// correct turns the part of the mix that a trial is about by gainDB.
func (s *side) correct(gainDB, rateHz float64) {
	more := dsp.FromDB(gainDB) - 1
	for i, f := range s.alone {
		s.whole[i][0] += more * f[0]
		s.whole[i][1] += more * f[1]
	}
	dsp.Gain(1 + more).Process(s.alone)
	s.lufs = measure.IntegratedLUFS(s.whole, rateHz)
	s.dbtp = measure.TruePeakDBTP(s.whole, rateHz)
}
