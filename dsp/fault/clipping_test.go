package fault_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/fault"
	"strop/dsp/measure"
)

// How much of its time a sine spends at a rail, 1 − 2·asin(c)/π, printed to a
// tenth of a percent; computed independently from the formula.
func TestClippedSineIsAtTheRail(t *testing.T) {
	for dB, pct := range map[float64]float64{-0.0873: 9.0, -1: 30.0, -3: 49.9, -6.0206: 66.7, -12.0412: 83.9} {
		sine := material{"sine", 48000, dsptest.Sine(48000, 97, 1, 0, 10*48000)}
		for _, trimDB := range []float64{0, -9} {
			buf, p := sine.with(t, fault.Clipping, dsp.Setting{"thresholdDBFS": dB, "trimDB": trimDB})
			c := measure.ClippingOf(buf)
			near(t, "share in %", c.SharePct, pct, 0.05+0.01)
			near(t, "rail", c.RailDBFS, dB+trimDB, 1e-6)
			places := p.(fault.Reporter).Places()
			if len(places) != 2*97*10 || len(c.Runs) != len(places) {
				t.Errorf("%g dBFS: %d places and %d runs in %d half cycles", dB, len(places), len(c.Runs), 2*97*10)
			}
			near(t, "beyond the rail", places[0].SizeDB, -dB, 0.001)
		}
	}
}

// The overload of every material is found where it is, and none elsewhere.
func TestClippingIsFound(t *testing.T) {
	for _, m := range materials(t) {
		if c := measure.ClippingOf(m.frames); len(c.Runs) > 0 || !math.IsInf(c.RailDBFS, -1) {
			t.Errorf("%s as it is: %d runs at %.2f dBFS", m.name, len(c.Runs), c.RailDBFS)
		}
		peakDB := measure.SamplePeakDBFS(m.frames)
		for _, overDB := range []float64{1, 3, 6} {
			buf, p := m.with(t, fault.Clipping, dsp.Setting{"thresholdDBFS": peakDB - overDB, "trimDB": -6})
			c, places := measure.ClippingOf(buf), p.(fault.Reporter).Places()
			near(t, m.name+": runs", float64(len(c.Runs)), float64(len(places)), 0)
			if len(places) > 0 {
				near(t, m.name+": rail", c.RailDBFS, peakDB-overDB-6, 1e-6)
			}
		}
	}
}

// Words of few bits make level tops of slow waves; they are not clipped.
func TestLevelTopsAreNotClipping(t *testing.T) {
	for _, bits := range []float64{8, 12, 16, 24} {
		buf := dsptest.Sine(48000, 41, 0.3, 0.1, 48000)
		for i := range buf {
			x := math.Round(buf[i][0]*math.Exp2(bits-1)) / math.Exp2(bits-1)
			buf[i] = dsp.Frame{x, x}
		}
		if c := measure.ClippingOf(buf); len(c.Runs) > 0 {
			t.Errorf("a sine of 41 Hz in %g bits has %d runs", bits, len(c.Runs))
		}
	}
}

func TestDCIsFound(t *testing.T) {
	for _, m := range materials(t) {
		for side, x := range measure.DCOffset(m.frames) {
			near(t, m.name+" as it is: offset in %", 100*x, 0, 0.05)
			for _, pct := range []float64{-5, 0.5, 20} {
				buf, _ := m.with(t, fault.DC, dsp.Setting{"offsetPct": pct})
				near(t, m.name+": offset in %", 100*measure.DCOffset(buf)[side], pct, 0.05)
			}
		}
	}
}
