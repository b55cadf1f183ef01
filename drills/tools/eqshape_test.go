package tools_test

import (
	"testing"

	"strop/dsp"
)

// A shelf has half its gain in dB at its frequency and all of it far out; a
// bell has it in the middle alone. Common definition, as in the Audio EQ
// Cookbook.
func TestEQShape(t *testing.T) {
	drill := tool(t, "eq-shape")
	for _, c := range []struct {
		shape, hz, want float64
	}{
		{1, 1000, 8}, {1, 30, 0}, {1, 18000, 0},
		{2, 30, 8}, {2, 250, 4}, {2, 8000, 0},
		{3, 18000, 8}, {3, 3000, 4}, {3, 60, 0},
	} {
		near(t, "gain", toneGainDB(t, drill, dsp.Setting{"shape": c.shape, "gainDB": 8}, c.hz), c.want, 0.35)
	}
}
