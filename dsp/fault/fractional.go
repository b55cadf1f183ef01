package fault

import (
	"math"
	"sync"

	"strop/dsp"
	"strop/dsp/kaiser"
	"strop/dsp/taps"
)

// Delays by parts of a sample are read through a windowed sinc. Its gain is
// within 0.001 dB of 1 and its delay within 0.001 sample of the one asked for,
// up to 0.42 of the rate; above, the gain falls. At whole samples it is exact.
//
// Source: T. I. Laakso, V. Välimäki, M. Karjalainen, U. K. Laine, Splitting the
// unit delay, IEEE Signal Processing Magazine 13(1) (1996) (from memory).
const (
	sincTaps   = 48  // a multiple of 8
	sincPlaces = 512 // in a sample; between two of them the taps are interpolated
	sincBeta   = 9   // of the Kaiser window
	leastDelay = sincTaps / 2
)

// sincRow is the taps of one place, and what to add for the next.
type sincRow struct{ tap, step [sincTaps]float64 }

// sincTable is made once, when the first delay is built; it depends on nothing.
var sincTable = sync.OnceValue(func() *[sincPlaces]sincRow {
	var table [sincPlaces]sincRow
	for p := range table {
		table[p].tap = sincAt(float64(p) / sincPlaces)
		for i, next := range sincAt(float64(p+1) / sincPlaces) {
			table[p].step[i] = next - table[p].tap[i]
		}
	}
	return &table
})

// sincAt reads part of a sample before the middle tap. The taps add up to 1.
func sincAt(part float64) (taps [sincTaps]float64) {
	sum := 0.0
	for i := range taps {
		x := float64(i-sincTaps/2) + part
		switch {
		case x == 0:
			taps[i] = 1
		case x != math.Trunc(x):
			taps[i] = kaiser.Window(x/(sincTaps/2), sincBeta) * math.Sin(math.Pi*x) / (math.Pi * x)
		}
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

// reel is the last frames that came in, in a ring that is written twice, half a
// length apart, so that what is read lies in one piece.
type reel struct {
	frames []dsp.Frame
	size   int
	at     int
}

// newReel reads up to longest frames back.
func newReel(longest float64) reel {
	size := int(longest) + sincTaps + 2
	return reel{frames: make([]dsp.Frame, 2*size), size: size}
}

func (r *reel) reset() {
	clear(r.frames)
	r.at = 0
}

func (r *reel) write(x dsp.Frame) {
	r.frames[r.at], r.frames[r.at+r.size] = x, x
	if r.at++; r.at == r.size {
		r.at = 0
	}
}

// whole is the frame that was written n frames before the last.
func (r *reel) whole(n int) dsp.Frame {
	return r.frames[r.at+r.size-1-n]
}

// read is the frame delay frames before the one that is written next, delay at
// least leastDelay.
func (r *reel) read(table *[sincPlaces]sincRow, delay float64) dsp.Frame {
	whole := int(delay)
	place := (delay - float64(whole)) * sincPlaces
	row := &table[int(place)]
	part := place - float64(int(place))
	first := r.at - whole - sincTaps/2
	if first < 0 {
		first += r.size
	}
	return taps.Between(row.tap[:], row.step[:], part, r.frames[first:first+sincTaps])
}
