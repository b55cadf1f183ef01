// Package eq holds the equaliser filters: second-order sections, the designs
// that give their coefficients, and the processors built from them.
//
// A design is a pure function that returns Coefficients. Two families stand
// side by side: Cookbook… (bilinear transform, exact at the centre frequency,
// squeezed towards half the sample rate) and Matched… (close to the analogue
// filter up to half the rate). Q follows the cookbook throughout: for a peak
// the bandwidth is taken between the points of half the gain in dB.
package eq

import (
	"math"
	"math/cmplx"

	"strop/dsp"
)

// Coefficients of a second-order section, normalised to a0 = 1:
//
//	y[n] = B0·x[n] + B1·x[n−1] + B2·x[n−2] − A1·y[n−1] − A2·y[n−2]
type Coefficients struct{ B0, B1, B2, A1, A2 float64 }

// Identity passes everything unchanged, to the bit.
var Identity = Coefficients{B0: 1}

// Response is the complex response at freqHz.
func (c Coefficients) Response(rateHz, freqHz float64) complex128 {
	z1 := cmplx.Rect(1, -2*math.Pi*freqHz/rateHz)
	num := complex(c.B0, 0) + z1*(complex(c.B1, 0)+z1*complex(c.B2, 0))
	den := 1 + z1*(complex(c.A1, 0)+z1*complex(c.A2, 0))
	return num / den
}

// Invert is the section that undoes c: its poles are the zeros of c. It is
// stable where c is minimum-phase, as the boosts of this package are.
func (c Coefficients) Invert() Coefficients {
	return Coefficients{1 / c.B0, c.A1 / c.B0, c.A2 / c.B0, c.B1 / c.B0, c.B2 / c.B0}
}

// scaled is c with ratio times its gain.
func (c Coefficients) scaled(ratio float64) Coefficients {
	return Coefficients{c.B0 * ratio, c.B1 * ratio, c.B2 * ratio, c.A1, c.A2}
}

// times is two first-order sections as one of second order.
func (c Coefficients) times(d Coefficients) Coefficients {
	return Coefficients{c.B0 * d.B0, c.B0*d.B1 + c.B1*d.B0, c.B1 * d.B1, c.A1 + d.A1, c.A1 * d.A1}
}

// Stable reports whether both poles lie inside the unit circle.
func (c Coefficients) Stable() bool { return math.Abs(c.A2) < 1 && math.Abs(c.A1) < 1+c.A2 }

// Biquad runs one second-order section over both channels.
//
// It keeps the state-space form, which has the shortest path from one frame
// to the next, in float64:
//
//	y = b0·x + s1;  s1' = (b1 − a1·b0)·x + s2 − a1·s1;  s2' = (b2 − a2·b0)·x − a2·s1
//
// No latency. Every 256 frames since Reset a memory that has decayed below
// −2000 dB is cleared, so that silence costs no arithmetic on denormals.
type Biquad struct {
	c           Coefficients
	left, right [2]float64
	sinceClear  int
}

var _ dsp.Processor = (*Biquad)(nil)

// NewBiquad is a section at rest.
func NewBiquad(c Coefficients) *Biquad { return &Biquad{c: c} }

// Reset clears the memory.
func (f *Biquad) Reset() { *f = Biquad{c: f.c} }

const clearEvery, clearBelow = 256, 1e-100

// Process filters buf in place.
func (f *Biquad) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), clearEvery-f.sinceClear)
		f.run(buf[:n])
		buf = buf[n:]
		f.sinceClear += n
		if f.sinceClear == clearEvery {
			f.sinceClear = 0
			clearTiny(&f.left)
			clearTiny(&f.right)
		}
	}
}

func clearTiny(s *[2]float64) {
	if math.Abs(s[0]) < clearBelow && math.Abs(s[1]) < clearBelow {
		*s = [2]float64{}
	}
}

func (f *Biquad) run(buf []dsp.Frame) {
	b0, a1, a2 := f.c.B0, f.c.A1, f.c.A2
	c1, c2 := f.c.B1-a1*b0, f.c.B2-a2*b0
	l1, l2, r1, r2 := f.left[0], f.left[1], f.right[0], f.right[1]
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		buf[i] = dsp.Frame{b0*l + l1, b0*r + r1}
		l1, l2 = c1*l+l2-a1*l1, c2*l-a2*l1
		r1, r2 = c1*r+r2-a1*r1, c2*r-a2*r1
	}
	f.left, f.right = [2]float64{l1, l2}, [2]float64{r1, r2}
}
