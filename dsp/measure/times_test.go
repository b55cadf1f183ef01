package measure

import (
	"fmt"
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dynamics"
)

// fitProcessor measures the curve, then the times, as a bench would.
func fitProcessor(p dsp.Processor, rateHz float64) TimesFit {
	curve := FitCurve(StaticCurve(p, rateHz, UsualSteps()))
	return FitTimes(TrackGain(p, rateHz, UsualBurst()), curve)
}

// The published detectors, written out in staticcurve_test.go, are found with
// their topology and times. An independent simulation of the method got 5.000
// and 99.98 ms with 0.0004 dB left, and 0.68 dB left with the wrong topology.
func TestTimesOfReferenceCompressor(t *testing.T) {
	for _, c := range []struct {
		attackMS, releaseMS float64
		topology            Topology
	}{{5, 100, Branching}, {5, 100, Decoupled}, {1, 50, Decoupled}, {30, 250, Branching}, {30, 250, Decoupled}} {
		name := fmt.Sprintf("%g ms, %g ms, %v", c.attackMS, c.releaseMS, c.topology)
		p := newReferenceCompressor(48000, -20, 4, 6, 3, c.attackMS, c.releaseMS, c.topology == Branching)
		fit := fitProcessor(p, 48000)
		if fit.Topology != c.topology {
			t.Errorf("%s: taken for %v", name, fit.Topology)
		}
		near(t, name+": attack", fit.AttackMS, c.attackMS, 0.002*c.attackMS)
		near(t, name+": release", fit.ReleaseTauMS, c.releaseMS, 0.002*c.releaseMS)
		if fit.RMSErrorDB > 0.01 {
			t.Errorf("%s: %.4f dB are left", name, fit.RMSErrorDB)
		}
		t.Logf("%s: %+v", name, fit)
	}
}

// The wrong topology cannot explain the burst.
func TestTimesOfWrongTopology(t *testing.T) {
	for _, topology := range []Topology{Decoupled, Branching} {
		p := newReferenceCompressor(48000, -20, 4, 6, 0, 5, 100, topology == Branching)
		curve := FitCurve(StaticCurve(p, 48000, UsualSteps()))
		track := TrackGain(p, 48000, UsualBurst())
		right, wrong := fitTopology(track, curve, topology), fitTopology(track, curve, 1-topology)
		t.Logf("%v: %.4f dB left, the other way %.4f dB", topology, right.RMSErrorDB, wrong.RMSErrorDB)
		if wrong.RMSErrorDB < 20*right.RMSErrorDB || wrong.RMSErrorDB < 0.02 {
			t.Errorf("%v: %.4f dB left, the other way %.4f dB", topology, right.RMSErrorDB, wrong.RMSErrorDB)
		}
	}
}

// The labels of this program's compressor, which are those of the whole
// detector, within the 2 % that it promises.
func TestTimesOfCompressor(t *testing.T) {
	for _, rateHz := range []float64{44100, 48000} {
		p, err := dynamics.Compressor.New(rateHz, dsp.Setting{"thresholdDB": -24, "ratio": 4, "kneeDB": 6, "attackMS": 8, "releaseMS": 120, "lookaheadMS": 0})
		if err != nil {
			t.Fatal(err)
		}
		fit := fitProcessor(p, rateHz)
		t.Logf("%g Hz: %+v", rateHz, fit)
		if fit.Topology != Decoupled {
			t.Errorf("%g Hz: taken for %v", rateHz, fit.Topology)
		}
		near(t, fmt.Sprintf("%g Hz: attack", rateHz), fit.AttackMS, 8, 0.02*8)
		near(t, fmt.Sprintf("%g Hz: release", rateHz), fit.ReleaseMS, 120, 0.02*120)
	}
}

// Two equal stages fall to 1/e at the root of (1 + t)·e^(−t) = 1/e, t = 2.14619;
// one alone at its time constant.
func TestBothStages(t *testing.T) {
	near(t, "equal stages", bothStagesMS(10, 10), 21.4619, 1e-3)
	near(t, "a short first stage", bothStagesMS(1e-6, 10), 10, 1e-4)
	for _, attack := range []float64{0.1, 1, 5, 50, 500} { // 5 and 100 ms: found by stepping the published detector
		d := detector{attack: math.Exp(-1 / (attack * 48)), release: math.Exp(-1 / (100.0 * 48))}
		for range 48 * 5000 {
			d.next(1)
		}
		n := 0
		for d.next(0) > 1/math.E {
			n++
		}
		near(t, fmt.Sprintf("%g ms", attack), bothStagesMS(attack, 100), float64(n)/48, 0.05)
	}
}

// A gain has no times, and its track is that gain.
func TestTimesOfGain(t *testing.T) {
	p := dsp.Gain(0.5)
	track := TrackGain(p, 48000, UsualBurst())
	near(t, "gain", track.DB(1), -6.0206, 1e-4)
	if fit := FitTimes(track, FitCurve(StaticCurve(p, 48000, UsualSteps()))); !math.IsNaN(fit.AttackMS) || !math.IsNaN(fit.RMSErrorDB) {
		t.Errorf("a gain has the times %+v", fit)
	}
}

func BenchmarkFitTimes(b *testing.B) {
	p := newReferenceCompressor(48000, -20, 4, 6, 0, 5, 100, false)
	track := TrackGain(p, 48000, UsualBurst())
	for b.Loop() {
		FitTimes(track, CurveFit{-20, 4, 6, 0, 0})
	}
}
