package fault

import (
	"math"

	"strop/dsp"
)

var (
	dipLength = dsp.Param{ID: "lengthMS", Name: "length", Unit: "ms", Min: 10, Max: 100, Neutral: 50}
	dipDepth  = dsp.Param{ID: "depthDB", Name: "depth", Unit: "dB", Min: 3, Max: 20, Neutral: 12}
)

// dipSplitHz is the middle of the rise from the loss of the lows to that of
// the highs.
const dipSplitHz = 4000

// TapeDropout lets the sound sink for moments, as where a tape leaves the head
// or has lost its coating; the treble more than the rest.
//
//	perS      dropouts a second in the mean, at random moments   0 to 4; 0 is none
//	lengthMS  of each, from full level to full level             10 to 100 ms
//	depthDB   loss in the middle of it; above 4 kHz twice that   3 to 20 dB
//	seed      draws the moments                                  0 to 1048576
//
// The loss in dB is a raised cosine over time. Over frequency it passes from
// the one to the other by a shelf of second order. Two are 50 ms apart at
// least. Their size is −depthDB. No latency; between dropouts the input is
// left as it is, to the bit.
// Source: common practice, no source; that the treble falls more: R. L.
// Wallace, The reproduction of magnetically recorded signals, Bell Syst. Tech.
// J. 30 (1951), 54.6 dB for a wavelength between tape and head (from memory).
var TapeDropout = dsp.Spec{
	ID:     "tapedropout",
	Name:   "tape dropout",
	Doc:    "Lets the sound sink for moments, the treble most, as where a tape leaves the head.",
	Source: "common practice, no source",
	Params: []dsp.Param{dropsPerS, dipLength, dipDepth, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		frames := math.Round(s.Get(dipLength) * rateHz / 1000)
		d := &dipper{
			gains:     dip(int(frames), s.Get(dipDepth)),
			depthDB:   s.Get(dipDepth),
			split:     newSplit(rateHz, dipSplitHz*dsp.FromDB(-s.Get(dipDepth)/4)),
			occasions: newOccasions(rateHz, s.Get(dropsPerS), frames+dropRestS*rateHz, s, 8),
			placeLog:  newPlaceLog(),
		}
		d.Reset()
		return d, nil
	},
}

// dip is the gain at each frame of a dropout.
func dip(frames int, depthDB float64) []float64 {
	gains := make([]float64, frames)
	for i := range gains {
		gains[i] = dsp.FromDB(-depthDB * (0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(frames))))
	}
	return gains
}

type dipper struct {
	gains   []float64
	depthDB float64
	split   split
	occasions
	placeLog
	count int // frames since Reset
	at    int // frames of a dropout that are over; len(gains): there is none
}

var (
	_ dsp.Processor = (*dipper)(nil)
	_ Reporter      = (*dipper)(nil)
)

// Reset begins the moments anew.
func (d *dipper) Reset() {
	d.reset()
	d.clear()
	d.split.reset()
	d.count, d.at = 0, len(d.gains)
}

// Process lets buf sink in place.
func (d *dipper) Process(buf []dsp.Frame) {
	if d.never {
		return
	}
	for i, x := range buf {
		if d.left == 0 {
			d.at = 0
			d.add(Place{Frame: d.count + i, Frames: len(d.gains), SizeDB: -d.depthDB})
			d.draw()
		}
		d.left--
		low, middle, high := d.split.parts(x)
		if d.at == len(d.gains) {
			continue
		}
		g := d.gains[d.at]
		root := math.Sqrt(g)
		for side := range x {
			buf[i][side] = g * (low[side] + root*middle[side] + g*high[side])
		}
		d.at++
	}
	d.count += len(buf)
}

// split takes a sound apart into three that add up to it: the low-pass, the
// band-pass and the high-pass of second order, Q = 1/√2.
//
//	low + √g·middle + g·high
//
// is a shelf of gain g, whose poles lie at freqHz and whose zeros 1/√g above.
// Source: A. Simper, Linear Trapezoidal Integrated State Variable Filter With
// Low Noise Optimisation, 2013.
type split struct {
	g, k, a1, a2, a3 float64
	s1, s2           dsp.Frame
}

func newSplit(rateHz, freqHz float64) split {
	g := math.Tan(math.Pi * min(freqHz/rateHz, 0.49))
	k := math.Sqrt2
	a1 := 1 / (1 + g*(g+k))
	return split{g: g, k: k, a1: a1, a2: g * a1, a3: g * g * a1}
}

func (f *split) reset() { f.s1, f.s2 = dsp.Frame{}, dsp.Frame{} }

func (f *split) parts(x dsp.Frame) (low, middle, high dsp.Frame) {
	for side := range x {
		v3 := x[side] - f.s2[side]
		v1 := f.a1*f.s1[side] + f.a2*v3
		v2 := f.s2[side] + f.a2*f.s1[side] + f.a3*v3
		f.s1[side] = 2*v1 - f.s1[side]
		f.s2[side] = 2*v2 - f.s2[side]
		low[side], middle[side], high[side] = v2, f.k*v1, x[side]-f.k*v1-v2
	}
	return low, middle, high
}
