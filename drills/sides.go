package drills

import (
	"fmt"
	"math"
	"slices"

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

// loopThrough is the loop as it sounds through p when it has been repeating
// for a while: two passes, the second kept, p's delay turned back. frames is
// not altered.
func loopThrough(p dsp.Processor, frames []dsp.Frame) []dsp.Frame {
	p.Reset()
	p.Process(slices.Clone(frames))
	out := slices.Clone(frames)
	p.Process(out)
	rotateLeft(out, dsp.DelayFrames(p))
	return out
}

func rotateLeft(frames []dsp.Frame, n int) {
	if len(frames) == 0 {
		return
	}
	n %= len(frames)
	slices.Reverse(frames[:n])
	slices.Reverse(frames[n:])
	slices.Reverse(frames)
}

// A side is a loop rendered, and what was measured of it before any gain.
type side struct {
	frames []dsp.Frame
	lufs   float64
	dbtp   float64
	gainDB float64
}

func newSide(build func() (dsp.Processor, error), clip Clip) (*side, error) {
	p, err := build()
	if err != nil {
		return nil, err
	}
	s := &side{frames: loopThrough(p, clip.Frames)}
	s.lufs = measure.IntegratedLUFS(s.frames, clip.Loop.RateHz)
	s.dbtp = measure.TruePeakDBTP(s.frames, clip.Loop.RateHz)
	if math.IsInf(s.lufs, 0) || math.IsNaN(s.lufs) {
		return nil, fmt.Errorf("%s is too quiet to be compared", clip.Name)
	}
	return s, nil
}

// apply gives s its gain, for good.
func (s *side) apply(gainDB float64) {
	s.gainDB = gainDB
	dsp.Gain(dsp.FromDB(gainDB)).Process(s.frames)
}

// match brings sides to one loudness, PlayLUFS or as far below it as the
// ceiling asks.
func match(sides ...*side) (lufs float64) {
	lufs = PlayLUFS
	for _, s := range sides {
		lufs = min(lufs, s.lufs+CeilingDBTP-s.dbtp)
	}
	for _, s := range sides {
		s.apply(lufs - s.lufs)
	}
	return lufs
}

// audibleDB is the change of level that at least one band has to undergo for
// a change to be asked about. Common practice, no source.
const audibleDB = 1.0
