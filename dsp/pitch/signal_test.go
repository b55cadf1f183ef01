package pitch_test

import (
	"math"
	"testing"

	"strop/dsp"
)

// sine is what a least-squares fit says of a sound's left channel.
type sine struct {
	perFrame   float64 // cycles
	ratio      float64
	phaseTurns float64 // of a cosine at the first frame
	restDB     float64 // all that is not the sine, over it
}

// fitSine looks for a sine near a frequency: by the phases of its two halves,
// thrice, then by least squares.
func fitSine(x []float64, perFrame float64) sine {
	half := len(x) / 2
	for range 3 {
		turns := (phaseOf(x[half:2*half], perFrame)-phaseOf(x[:half], perFrame))/(2*math.Pi) - perFrame*float64(half)
		perFrame += (turns - math.Round(turns)) / float64(half)
	}
	var cc, ss, cs, xc, xs, xx float64
	for i, v := range x {
		s, c := math.Sincos(2 * math.Pi * perFrame * float64(i))
		cc += c * c
		ss += s * s
		cs += c * s
		xc += v * c
		xs += v * s
		xx += v * v
	}
	det := cc*ss - cs*cs
	a, b := (xc*ss-xs*cs)/det, (xs*cc-xc*cs)/det
	power := a*xc + b*xs
	return sine{perFrame, math.Hypot(a, b), math.Atan2(-b, a) / (2 * math.Pi), dsp.PowerToDB(math.Abs(xx-power) / power)}
}

// phaseOf is that of a frequency, through a Hann window.
func phaseOf(x []float64, perFrame float64) float64 {
	var re, im float64
	for i, v := range x {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(x)))
		s, c := math.Sincos(2 * math.Pi * perFrame * float64(i))
		re += w * v * c
		im -= w * v * s
	}
	return math.Atan2(im, re)
}

func cents(ratio float64) float64 { return 1200 * math.Log2(ratio) }

func left(buf []dsp.Frame) []float64 {
	x := make([]float64, len(buf))
	for i := range buf {
		x[i] = buf[i][0]
	}
	return x
}

func right(buf []dsp.Frame) []float64 {
	x := make([]float64, len(buf))
	for i := range buf {
		x[i] = buf[i][1]
	}
	return x
}

// processed is what a processor makes of a sound, its delay taken off.
func processed(t *testing.T, spec dsp.Spec, rateHz float64, set dsp.Setting, x []dsp.Frame) []dsp.Frame {
	t.Helper()
	p, err := spec.New(rateHz, set)
	if err != nil {
		t.Fatal(err)
	}
	buf := append(append([]dsp.Frame(nil), x...), make([]dsp.Frame, dsp.DelayFrames(p))...)
	p.Process(buf)
	return buf[len(buf)-len(x):]
}

func energy(x []dsp.Frame) (sum float64) {
	for _, f := range x {
		sum += f[0]*f[0] + f[1]*f[1]
	}
	return sum
}

// strokes is n frames with a frame of ±1 in both channels every so many.
func strokes(n, every int) []dsp.Frame {
	x := make([]dsp.Frame, n)
	for i := every; i < n-every/2; i += every {
		x[i] = dsp.Frame{1, 1}
	}
	return x
}

// sameDB is how far a is from b, in dB of b.
func sameDB(a, b []float64) float64 {
	var d, p float64
	for i := range a {
		d += (a[i] - b[i]) * (a[i] - b[i])
		p += b[i] * b[i]
	}
	return dsp.PowerToDB(d / p)
}
