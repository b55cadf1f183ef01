package tools_test

import (
	"testing"

	"strop/dsp"
	"strop/dsp/measure"
)

// Both take the peaks down as far, but for what a clipped wave overshoots once
// it is band-limited. On a steady tone the limiter only turns it down, and
// clipping makes harmonics of it.
func TestClippedOrLimited(t *testing.T) {
	drill, pink := tool(t, "sat-clipping"), pinkClip()
	tone := clipOf("tone", sine(500, 0.5, 2))
	for kind := 1.0; kind <= 2; kind++ {
		s := dsp.Setting{"taker": kind, "peaksDB": 9}
		before, after := measure.TruePeakDBTP(pink.Frames, testRateHz), measure.TruePeakDBTP(changed(t, drill, pink, s, pink.Frames), testRateHz)
		near(t, "peaks", before-after, 9, 1.5)
		out := changed(t, drill, tone, s, tone.Frames)
		thd := measure.HarmonicsOf(measure.Left.Samples(out[len(out)/2:len(out)*9/10]), testRateHz, 500).THDF()
		if kind == 1 && thd < 0.1 || kind == 2 && thd > 0.01 {
			t.Errorf("kind %g: %.2f %% of distortion", kind, 100*thd)
		}
	}
}
