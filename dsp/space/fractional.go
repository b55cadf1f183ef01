package space

import (
	"math"
	"sync"

	"strop/dsp"
	"strop/dsp/kaiser"
)

// Delays by parts of a sample are read through a windowed sinc. Its gain is
// within 0.01 dB of 1 and its delay within 0.001 sample of the one asked for up
// to 0.4 of the rate; above, the gain falls.
//
// Source: T. I. Laakso, V. Välimäki, M. Karjalainen, U. K. Laine, Splitting the
// unit delay, IEEE Signal Processing Magazine 13(1) (1996) (from memory).
const (
	sincTaps   = 32
	sincPlaces = 512 // in a sample; between two of them the taps are interpolated
	sincBeta   = 8   // of the Kaiser window
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
		taps[i] = kaiser.Window(x/(sincTaps/2), sincBeta)
		if x != 0 {
			taps[i] *= math.Sin(math.Pi*x) / (math.Pi * x)
		}
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

// tape is a ring that is written twice, half a length apart, so that what is
// read lies in one piece.
type tape struct {
	x    []float64
	size int
	at   int
}

// newTape reads up to longest frames back.
func newTape(longest float64) tape {
	size := int(longest) + sincTaps + 2
	return tape{x: make([]float64, 2*size), size: size}
}

func (t *tape) reset() {
	clear(t.x)
	t.at = 0
}

func (t *tape) write(x float64) {
	t.x[t.at], t.x[t.at+t.size] = x, x
	if t.at++; t.at == t.size {
		t.at = 0
	}
}

// read is the value delay frames before the one that is written next, delay at
// least leastDelay.
func (t *tape) read(table *[sincPlaces]sincRow, delay float64) float64 {
	whole := int(delay)
	place := (delay - float64(whole)) * sincPlaces
	row := &table[int(place)]
	part := place - float64(int(place))
	first := t.at - whole - sincTaps/2
	if first < 0 {
		first += t.size
	}
	x := (*[sincTaps]float64)(t.x[first:])
	var y, z float64
	for i := 0; i < sincTaps; i += 2 {
		y += x[i] * (row.tap[i] + part*row.step[i])
		z += x[i+1] * (row.tap[i+1] + part*row.step[i+1])
	}
	return y + z
}

// turner is a point that goes round a circle, to make slow sines of.
type turner struct {
	sin, cos     float64
	stepS, stepC float64
	left         int // frames until its radius is set right
}

const straighten = 256

func newTurner(rateHz, freqHz float64) turner {
	s, c := math.Sincos(2 * math.Pi * freqHz / rateHz)
	return turner{cos: 1, stepS: s, stepC: c, left: straighten}
}

func (t *turner) next() {
	t.sin, t.cos = t.sin*t.stepC+t.cos*t.stepS, t.cos*t.stepC-t.sin*t.stepS
	if t.left--; t.left == 0 {
		t.left = straighten
		r := 1 / math.Hypot(t.sin, t.cos)
		t.sin *= r
		t.cos *= r
	}
}

// modParams are those that chorus and flanger share.
var (
	modRate = dsp.Param{ID: "rateHz", Name: "rate", Unit: "Hz", Min: 0.02, Max: 8, Neutral: 0.5, Scale: dsp.Log}
	modMix  = dsp.Param{ID: "mixPct", Name: "mix", Unit: "%", Min: 0, Max: 100, Neutral: 0}
)
