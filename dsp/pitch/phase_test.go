package pitch

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// The polynomials against the library, all round the circle.
func TestPhases(t *testing.T) {
	for i := range 100001 {
		turns := float64(i)/100000 - 0.5
		wantSin, wantCos := math.Sincos(2 * math.Pi * turns)
		sin, cos := sincosOf(turns)
		if d := max(math.Abs(sin-wantSin), math.Abs(cos-wantCos)); d > 1e-8 {
			t.Fatalf("sine and cosine of %g turns are off by %.2g", turns, d)
		}
		for _, r := range []float64{1e-200, 1, 1e100} {
			want := math.Atan2(r*wantSin, r*wantCos) / (2 * math.Pi)
			if d := math.Abs(wrapped(turnOf(r*wantCos, r*wantSin) - want)); d > 1e-8 {
				t.Fatalf("the phase of a number at %g turns is off by %.2g", turns, d)
			}
		}
	}
}

// All phases of two spectra at once are those of each pair of bins, and that is
// the phase of the product of the one with the other's conjugate, by the
// library.
func TestTurnsFrom(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	const bins = 1031
	a, b := newSpectra(bins), newSpectra(bins)
	for _, p := range []*spectra{&a, &b} {
		for k := range bins {
			scale := math.Exp2(40 * r.NormFloat64())
			p.plusRe[k], p.plusIm[k] = scale*r.NormFloat64(), scale*r.NormFloat64()
			p.minusRe[k], p.minusIm[k] = scale*r.NormFloat64(), scale*r.NormFloat64()
		}
	}
	a.plusRe[5], a.plusIm[5], a.minusRe[5], a.minusIm[5] = 0, 0, 0, 0
	for _, ahead := range []int{0, 1} {
		out := make([]float64, bins-ahead)
		turnsFrom(out, &a, &b, ahead)
		for k, got := range out {
			i := k + ahead
			z := complex(a.plusRe[i], a.plusIm[i])*complex(b.plusRe[k], -b.plusIm[k]) + complex(a.minusRe[i], a.minusIm[i])*complex(b.minusRe[k], -b.minusIm[k])
			if d := math.Abs(wrapped(got - cmplx.Phase(z)/(2*math.Pi))); z != 0 && d > 1e-8 {
				t.Fatalf("bin %d, %d ahead: %g turns, off by %.2g", k, ahead, got, d)
			}
			if want := turnFrom(&a, i, &b, k); math.Abs(got-want) > 1e-15 {
				t.Fatalf("bin %d, %d ahead: %g turns, plain code gives %g", k, ahead, got, want)
			}
		}
	}
}

// By how much more a phase advances and rises is what the formulas say, with the
// library's remainder.
func TestLeaps(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	const n, bins = 8192, 4097
	for _, hop := range []int{1012, 512, 2048} {
		across, along := make([]float64, bins), make([]float64, bins)
		for k := range across {
			across[k], along[k] = r.Float64()-0.5, r.Float64()-0.5
		}
		gotAcross, gotAlong := append([]float64(nil), across...), append([]float64(nil), along...)
		leaps(gotAcross, hop, n/8, n)
		more := n/8/float64(hop) - 1
		rises(gotAlong, more)
		for k := range across {
			want := float64(k*(n/8-hop))/n + more*math.Remainder(across[k]-float64(k*hop)/n, 1)
			if d := math.Remainder(gotAcross[k]-want, 1); math.Abs(d) > 1e-11 {
				t.Fatalf("hop %d, bin %d: a leap is off by %.2g", hop, k, d)
			}
			if d := gotAlong[k] - more*math.Remainder(along[k]+0.5, 1); math.Abs(d) > 1e-12 {
				t.Fatalf("hop %d, bin %d: a rise is off by %.2g", hop, k, d)
			}
		}
	}
}
