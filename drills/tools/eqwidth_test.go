package tools_test

import (
	"math"
	"testing"

	"strop/dsp"
)

// At Q a peak has half its gain in dB at frequencies BW octaves apart, 1/Q =
// 2·sinh(ln2/2·BW): R. Bristow-Johnson, Audio EQ Cookbook. The filter is made
// to have this gain at the edges of the analogue one.
func TestEQWidth(t *testing.T) {
	drill := tool(t, "eq-width")
	for _, q := range []float64{0.5, 1.8, 5.8} {
		edge := math.Exp2(math.Asinh(1/(2*q)) / math.Ln2)
		for _, hz := range []float64{1000 / edge, 1000 * edge} {
			near(t, "at the edge", toneGainDB(t, drill, dsp.Setting{"freqHz": 1000, "gainDB": 9, "q": q}, hz), 4.5, 0.1)
		}
	}
	truth := dsp.Setting{"freqHz": 1000, "gainDB": 9, "q": 1.8}
	guess := truth.With("q", 5.4)
	near(t, "three times", drill.Grade(drill.Rungs[1], truth, guess).Errors["errorOct"], 1.585, 0.001)
	if got, want := drill.Tell(drill.Rungs[1], truth, guess), "It was Q 1.8; you said Q 5.4, 3.0 times too narrow."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
