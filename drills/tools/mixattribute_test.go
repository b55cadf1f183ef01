package tools_test

import (
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/measure"
)

// Each attribute moves what its own meter reads, both ways where it has two.
func TestMixAttributes(t *testing.T) {
	drill, clip := tool(t, "mix-attribute"), pinkClip()
	bandDB := func(frames []dsp.Frame, band int) float64 { return measure.ThirdOctavesDB(frames, testRateHz)[band] }
	low := func(f []dsp.Frame) float64 { return bandDB(f, 4) - bandDB(f, 17) }   // 50 Hz over 1 kHz
	high := func(f []dsp.Frame) float64 { return bandDB(f, 28) - bandDB(f, 17) } // 12.5 kHz over 1 kHz
	side := func(f []dsp.Frame) float64 { return -measure.MidSideDB(f) }
	for _, c := range []struct {
		attribute, size float64
		meter           func([]dsp.Frame) float64
		wantDB          float64
	}{
		{1, 0.75, low, 6}, {1, -0.75, low, -6},
		{2, 0.75, high, 6}, {2, -0.75, high, -6},
		{4, 0.5, side, 3.52}, {4, -0.5, side, -6.02}, // 20·log10 of 1.5 and 0.5
	} {
		out := changed(t, drill, clip, dsp.Setting{"attribute": c.attribute, "size": c.size}, clip.Frames)
		near(t, drill.Region(dsp.Setting{"attribute": c.attribute}), c.meter(out)-c.meter(clip.Frames), c.wantDB, 0.5)
	}
}

// Depth is the direct sound over the reverb of a click; dynamics what is left
// between a loud and a soft part.
func TestMixDepthAndDynamics(t *testing.T) {
	drill := tool(t, "mix-attribute")
	click := make([]dsp.Frame, 2*testRateHz)
	click[100] = dsp.Frame{0.5, 0.5}
	out := changed(t, drill, clipOf("click", click), dsp.Setting{"attribute": 5, "size": 0.5}, click)
	near(t, "depth", measure.DirectRatioDB(measure.Left.Samples(out), testRateHz), 12, 1)

	steps := slices.Concat(sine(500, 0.5, 2), sine(500, 0.05, 2))
	rangeDB := func(f []dsp.Frame) float64 {
		return measure.RMSDBFS(f[testRateHz:3*testRateHz/2]) - measure.RMSDBFS(f[3*testRateHz:7*testRateHz/2])
	}
	pressed := changed(t, drill, clipOf("steps", steps), dsp.Setting{"attribute": 6, "size": 0.5}, steps)
	near(t, "range", rangeDB(steps), 20, 0.1)
	near(t, "range, compressed by 6 dB", rangeDB(pressed), 14, 1)
}

// The voice is offered where one plays, and alone is turned.
func TestMixVoiceLevel(t *testing.T) {
	drill := tool(t, "mix-attribute")
	s := dsp.Setting{"attribute": 3, "size": 0.5}
	for _, clip := range materials(t) {
		inserts, err := drill.Change(clip, 0, s)
		if err != nil {
			t.Fatal(err)
		}
		for _, in := range inserts {
			if role := clip.Stem(in.Stems[0]).Role; role != "lead vocal" && role != "speech" {
				t.Errorf("%s: %s is turned", clip.Name, role)
			}
			out := through(in.Processor, sine(1000, 0.1, 1))
			near(t, "voice", measure.RMSDBFS(out)-measure.RMSDBFS(sine(1000, 0.1, 1)), 4, 0.01)
		}
	}
}
