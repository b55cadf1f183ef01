package pitch

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"strop/dsp"
)

// Move is a note that is to be played at another time.
type Move struct {
	From, To int     // its first frame, and that of what comes after it
	ShiftMS  float64 // how much later; less than 0 is earlier
}

// MoveNotes writes src to dst with single notes earlier or later, and all else
// where it was. Before a note that comes later, the sound before it goes on for
// as long; of that before a note that comes earlier, the end is left out. The
// cut is a cross-fade of 8 ms, where in the 60 ms before the note the two sounds
// differ least: no note is cut at its beginning.
//
// A shift is rounded to a whole frame. dst has the length of src and is not src.
// Moves may stand in any order. It is an error if they overlap, leave the clip,
// or leave a note less than 20 ms.
//
// Source: common practice, no source.
func MoveNotes(dst, src []dsp.Frame, rateHz float64, moves []Move) error {
	switch {
	case !(rateHz >= dsp.MinRateHz && rateHz <= dsp.MaxRateHz):
		return fmt.Errorf("a sample rate of %g Hz is outside %d to %d Hz", rateHz, dsp.MinRateHz, dsp.MaxRateHz)
	case len(dst) != len(src):
		return fmt.Errorf("%d frames cannot hold %d", len(dst), len(src))
	}
	cuts, err := cutsOf(moves, len(src), rateHz)
	if err != nil {
		return err
	}
	m := mover{src: src, fade: int(moveFadeS * rateHz), guard: int(moveGuardS * rateHz), search: int(moveSearchS * rateHz)}
	at, free, late := 0, 0, 0 // written so far; from where a cut may be; how much later what sounds is
	for _, c := range cuts {
		if c.late == late {
			continue
		}
		start, err := m.place(c, free, late)
		if err != nil {
			return err
		}
		m.copy(dst[at:start], at, late)
		m.cross(dst[start:start+m.fade], start, late, c.late)
		at, free, late = start+m.fade, c.at+c.late+m.guard, c.late
	}
	m.copy(dst[at:], at, late)
	return nil
}

const (
	moveFadeS   = 0.008
	moveGuardS  = 0.002 // between a cut and the beginning of a note
	moveSearchS = 0.060
	moveLeastS  = 0.020
)

// cut is a frame of the source, and how many frames later it and what follows
// are to sound.
type cut struct{ at, late int }

// cutsOf are the beginnings and the ends of moves, in order.
func cutsOf(moves []Move, n int, rateHz float64) (cuts []cut, err error) {
	moves = slices.Clone(moves)
	slices.SortFunc(moves, func(a, b Move) int { return cmp.Compare(a.From, b.From) })
	end := 0
	for _, m := range moves {
		late := int(math.Round(m.ShiftMS * rateHz / 1000))
		switch {
		case m.From < 0 || m.To > n || float64(m.To-m.From) < moveLeastS*rateHz:
			return nil, fmt.Errorf("the note from frame %d to %d: it must lie within %d frames and last 20 ms", m.From, m.To, n)
		case m.From < end:
			return nil, fmt.Errorf("the note at frame %d begins before the one before it ends; give each note once", m.From)
		case m.From+late < 0 || m.To+late > n && m.To < n:
			return nil, fmt.Errorf("the note at frame %d cannot be moved by %g ms: it would leave the clip", m.From, m.ShiftMS)
		}
		if len(cuts) > 0 && m.From == end {
			cuts = cuts[:len(cuts)-1]
		}
		cuts = append(cuts, cut{m.From, late}, cut{m.To, 0})
		end = m.To
	}
	if end == n && len(cuts) > 0 {
		cuts = cuts[:len(cuts)-1] // nothing comes after it
	}
	return cuts, nil
}

// mover writes pieces of src.
type mover struct {
	src                 []dsp.Frame
	fade, guard, search int
}

// at is the source, silence outside it.
func (m *mover) at(i int) dsp.Frame {
	if i < 0 || i >= len(m.src) {
		return dsp.Frame{}
	}
	return m.src[i]
}

// place is where the cross-fade to a cut begins: where, of the time that is
// free, the two sounds differ least.
func (m *mover) place(c cut, free, late int) (start int, err error) {
	last := c.at + min(late, c.late) - m.guard - m.fade
	if last < free {
		if c.at == 0 {
			return 0, nil
		}
		return 0, fmt.Errorf("there is no room to move the note at frame %d: move it less, or leave the one before where it is", c.at)
	}
	least := math.Inf(1)
	for at := last; at >= max(free, last-m.search); at -= 4 {
		if d := m.difference(at, late, c.late); d < least {
			start, least = at, d
		}
	}
	return start, nil
}

func (m *mover) difference(start, late, next int) (sum float64) {
	for i := start; i < start+m.fade; i += 2 {
		a, b := m.at(i-late), m.at(i-next)
		sum += (a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1])
	}
	return sum
}

func (m *mover) copy(dst []dsp.Frame, at, late int) {
	for i := range dst {
		dst[i] = m.at(at + i - late)
	}
}

// cross fades from what is late to what is to be next.
func (m *mover) cross(dst []dsp.Frame, start, late, next int) {
	var ab, aa, bb float64
	for i := range dst {
		a, b := m.at(start+i-late), m.at(start+i-next)
		ab += a[0]*b[0] + a[1]*b[1]
		aa += a[0]*a[0] + a[1]*a[1]
		bb += b[0]*b[0] + b[1]*b[1]
	}
	gains := newFadeGains(1)
	if aa > 0 && bb > 0 {
		gains = newFadeGains(ab / math.Sqrt(aa*bb))
	}
	for i := range dst {
		in, away := gains.at(1 - (float64(i)+0.5)/float64(len(dst)))
		a, b := m.at(start+i-late), m.at(start+i-next)
		dst[i] = dsp.Frame{away*a[0] + in*b[0], away*a[1] + in*b[1]}
	}
}
