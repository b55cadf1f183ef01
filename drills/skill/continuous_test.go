package skill_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"strop/drills/skill"
)

// Transmitted information of a Gaussian error on nine octaves, computed
// independently.
func TestPointingBits(t *testing.T) {
	for spread, want := range map[float64]float64{1: 1.12, 1. / 2: 2.12, 1. / 3: 2.71, 1. / 4: 3.12, 1. / 6: 3.71} {
		within(t, fmt.Sprintf("bits at a spread of %g octaves", spread), skill.PointingBits(9, spread), want, 5.1e-3)
	}
}

func TestWithin(t *testing.T) {
	for spread, want := range map[float64][3]float64{1. / 3: {.683, .866, .997}, 1. / 2: {.495, .683, .954}, 1: {.261, .383, .683}} {
		for i, distance := range []float64{1. / 3, 1. / 2, 1} {
			within(t, "share within", skill.Within(distance, spread), want[i], 5.1e-4)
		}
	}
	within(t, "median error", skill.MedianError(2), 2*.6745, 1e-4)
}

// Computed independently.
func TestConfusionBits(t *testing.T) {
	identity := skill.NewConfusions(5)
	for i := range identity {
		identity[i][i] = 7
	}
	for want, c := range map[float64]skill.Confusions{2.3219: identity, .2781: {{8, 2}, {2, 8}}, .5264: {{7, 3, 0}, {2, 6, 2}, {0, 3, 7}}} {
		within(t, "bits", c.Bits(), want, 5.1e-5)
	}
}

// Answers that have nothing to do with the truth transmit nothing; the count
// alone says (k−1)²/(2N·ln 2) bits.
func TestBitsOfGuessing(t *testing.T) {
	const k, answers, runs = 5, 200, 400
	r := rand.New(rand.NewPCG(4, 2))
	var counted, unbiased float64
	for range runs {
		c := skill.NewConfusions(k)
		for range answers {
			c[r.IntN(k)][r.IntN(k)]++
		}
		counted += c.Bits() / runs
		unbiased += c.UnbiasedBits() / runs
	}
	within(t, "counted", counted, 16/(2*answers*math.Ln2), .004)
	if unbiased > .01 {
		t.Errorf("%.4f bits from guessing", unbiased)
	}
	if b := skill.NewConfusions(3).UnbiasedBits(); b != 0 {
		t.Errorf("nothing answered transmits %g", b)
	}
}

// The 90 % intervals of listeners drawn from the model hold the truth.
func TestPointingFindsBiasSpreadAndLapse(t *testing.T) {
	const width, listeners, answers = 9, 120, 120
	r := rand.New(rand.NewPCG(3, 1))
	var covered [2]int
	meanLapse := 0.0
	for range listeners {
		bias, spread := r.Float64()-.5, math.Exp2(-2+2*r.Float64())
		p := skill.NewPointing(width)
		for range answers {
			signed := bias + spread*r.NormFloat64()
			if r.Float64() < .05 {
				signed = width * (r.Float64() - .5)
			}
			if err := p.Update(signed); err != nil {
				t.Fatal(err)
			}
		}
		if p.Bias().Interval(.9).Contains(bias) {
			covered[0]++
		}
		if p.Spread().Interval(.9).Contains(spread) {
			covered[1]++
		}
		meanLapse += p.Lapse().Mean() / listeners
	}
	for i, what := range []string{"bias", "spread"} { // one standard error: 0.027
		if share := float64(covered[i]) / listeners; share < .82 {
			t.Errorf("the 90 %% interval of the %s holds it in %.2f", what, share)
		}
	}
	within(t, "mean lapse", meanLapse, .05, .02)
}

func TestPointingRefusesImpossibleErrors(t *testing.T) {
	p := skill.NewPointing(9)
	for _, signed := range []float64{10, -10, math.NaN(), math.Inf(1)} {
		if err := p.Update(signed); err == nil {
			t.Errorf("%g was accepted", signed)
		}
	}
	if p.Answers() != 0 {
		t.Error("a refused answer was counted")
	}
}

func TestCalibrate(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	var honest, boastful []skill.Prediction
	for range 20000 {
		share := .5 + .5*r.Float64()
		honest = append(honest, skill.Prediction{Share: share, Right: r.Float64() < share})
		boastful = append(boastful, skill.Prediction{Share: min(share+.1, 1), Right: r.Float64() < share})
	}
	bins := skill.Calibrate(honest)
	if len(bins) != 5 {
		t.Fatalf("%d bins for predictions from .5 to 1", len(bins))
	}
	for _, b := range bins {
		within(t, "gap", b.Gap(), 0, .025) // four standard errors
	}
	for _, b := range skill.Calibrate(boastful) {
		if b.Gap() > -.04 || b.Interval.Contains(b.Predicted) {
			t.Errorf("predictions a tenth too high pass: %+v", b)
		}
	}
	// E[p(1−p)] for p uniform on .5 to 1 is 1/6.
	within(t, "Brier score", skill.Brier(honest), 1./6, .005)
}
