package pitch_test

import (
	"math"
	"strings"
	"testing"

	"strop/dsp"
	"strop/dsp/pitch"
)

const noteHz = 48000

// notes is a plucked tone every half second, each another one, that rings until
// the next.
func notes(n int) []dsp.Frame {
	buf := make([]dsp.Frame, n*noteHz/2)
	for i := range buf {
		note, at := i/(noteHz/2), float64(i%(noteHz/2))/noteHz
		freqHz := 220 * math.Exp2(float64(note*5%12)/12)
		x := 0.5 * math.Exp(-at/0.2) * (1 - math.Exp(-at/0.001)) * (math.Sin(2*math.Pi*freqHz*at) + 0.4*math.Sin(2*math.Pi*3*freqHz*at))
		buf[i] = dsp.Frame{x, x / 2}
	}
	return buf
}

// lag is how many frames later a piece of x, from frame on, is found in y, by
// plain correlation.
func lag(x, y []dsp.Frame, from, n, reach int) (late int) {
	most := math.Inf(-1)
	for d := -reach; d <= reach; d++ {
		sum := 0.0
		for i := from; i < from+n; i++ {
			if i+d >= 0 && i+d < len(y) {
				sum += x[i][0] * y[i+d][0]
			}
		}
		if sum > most {
			late, most = d, sum
		}
	}
	return late
}

// steepest is the greatest second difference: a click is one.
func steepest(x []dsp.Frame) (most float64) {
	for i := 2; i < len(x); i++ {
		most = max(most, math.Abs(x[i][0]-2*x[i-1][0]+x[i-2][0]))
	}
	return most
}

// The notes that are told come as much later or earlier as they are told, to
// the frame; all others stay; and nothing clicks.
func TestMoveNotes(t *testing.T) {
	src := notes(8)
	dst := make([]dsp.Frame, len(src))
	half := noteHz / 2
	moved := map[int]float64{2: 40, 4: -35, 5: 12.5, 7: -3}
	var moves []pitch.Move
	for _, i := range []int{5, 2, 7, 4} {
		moves = append(moves, pitch.Move{From: i * half, To: (i + 1) * half, ShiftMS: moved[i]})
	}
	if err := pitch.MoveNotes(dst, src, noteHz, moves); err != nil {
		t.Fatal(err)
	}
	for i := range 8 {
		if got, want := lag(src, dst, i*half, half/4, 3000), int(moved[i]*noteHz/1000); got != want {
			t.Errorf("note %d is %d frames late, want %d", i, got, want)
		}
	}
	if got, was := steepest(dst), steepest(src); got > 1.05*was {
		t.Errorf("the greatest second difference is %g; it was %g", got, was)
	}
	if e := energy(dst) / energy(src); math.Abs(e-1) > 0.05 {
		t.Errorf("%.3f of the energy is left", e)
	}
}

// A steady tone, of which a piece is moved, has its phase changed within a fade,
// but no click, which would be a thousand times as steep.
func TestMoveNotesWithinATone(t *testing.T) {
	src := make([]dsp.Frame, noteHz)
	for i := range src {
		x := 0.5 * math.Sin(2*math.Pi*110*float64(i)/noteHz)
		src[i] = dsp.Frame{x, x}
	}
	dst := make([]dsp.Frame, len(src))
	if err := pitch.MoveNotes(dst, src, noteHz, []pitch.Move{{From: 16000, To: 30000, ShiftMS: 7.3}}); err != nil {
		t.Fatal(err)
	}
	if got, was := steepest(dst), steepest(src); got > 2*was {
		t.Errorf("the greatest second difference is %g; it was %g", got, was)
	}
}

func TestMoveNotesOfNothing(t *testing.T) {
	src := notes(2)
	dst := make([]dsp.Frame, len(src))
	if err := pitch.MoveNotes(dst, src, noteHz, nil); err != nil || energy(dst) != energy(src) {
		t.Errorf("no moves: %v", err)
	}
	if err := pitch.MoveNotes(dst, src, noteHz, []pitch.Move{{From: 0, To: 10000}}); err != nil || lag(src, dst, 0, 20000, 3) != 0 {
		t.Errorf("a move by nothing: %v", err)
	}
}

func TestMoveNotesRefuses(t *testing.T) {
	src := notes(4)
	dst := make([]dsp.Frame, len(src))
	for want, moves := range map[string][]pitch.Move{
		"give each note once":     {{From: 1000, To: 9000}, {From: 8000, To: 12000}},
		"must lie within":         {{From: -5, To: 5000}},
		"last 20 ms":              {{From: 5000, To: 5100}},
		"it would leave the clip": {{From: 100, To: 5000, ShiftMS: -10}},
		"no room":                 {{From: 5000, To: 6500, ShiftMS: 0.1}, {From: 6500, To: 9000, ShiftMS: -30}},
	} {
		if err := pitch.MoveNotes(dst, src, noteHz, moves); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %v, want %q", moves, err, want)
		}
	}
	if err := pitch.MoveNotes(dst[1:], src, noteHz, nil); err == nil {
		t.Error("a shorter destination is taken")
	}
}
