package tools_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/drills"
	"strop/drills/tools"
	"strop/dsp"
	"strop/dsp/measure"
)

const testRateHz = 48000.0

// pinkClip is a mix of pink noise, with sides, that carries every band.
func pinkClip() drills.Clip {
	frames := make([]dsp.Frame, 3*testRateHz)
	dsp.NewPink(testRateHz, 7).Fill(frames)
	other := make([]dsp.Frame, len(frames))
	dsp.NewPink(testRateHz, 8).Fill(other)
	for i := range frames {
		frames[i][1] = 0.8*frames[i][1] + 0.6*other[i][1]
	}
	return clipOf("pink noise", frames)
}

func clipOf(name string, frames []dsp.Frame) drills.Clip {
	return drills.Clip{
		Name: name, Frames: frames, Facts: measure.FactsOf(frames, testRateHz),
		Loop: drills.Loop{Material: name, Frames: len(frames), RateHz: testRateHz},
	}
}

// sine is so many seconds of a tone, the same in both channels.
func sine(freqHz, ratio, seconds float64) []dsp.Frame {
	frames := make([]dsp.Frame, int(seconds*testRateHz))
	for i := range frames {
		v := ratio * math.Sin(2*math.Pi*freqHz*float64(i)/testRateHz)
		frames[i] = dsp.Frame{v, v}
	}
	return frames
}

func tool(t *testing.T, id string) drills.Tool {
	t.Helper()
	found, err := tools.Find(id)
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// changed is what becomes of frames in the way of a drill's change to the mix,
// its delay taken off.
func changed(t *testing.T, drill drills.Tool, c drills.Clip, s dsp.Setting, frames []dsp.Frame) []dsp.Frame {
	t.Helper()
	inserts, err := drill.Change(c, 0, s)
	if err != nil {
		t.Fatal(err)
	}
	out := slices.Clone(frames)
	for _, in := range inserts {
		in.Processor.Reset()
		in.Processor.Process(out)
		out = out[dsp.DelayFrames(in.Processor):]
	}
	return out
}

// toneGainDB is by how much a change raises a steady tone.
func toneGainDB(t *testing.T, drill drills.Tool, s dsp.Setting, freqHz float64) float64 {
	t.Helper()
	c := clipOf("tone", sine(freqHz, 0.1, 1))
	out := changed(t, drill, c, s, c.Frames)
	return measure.RMSDBFS(out[len(out)/2:]) - measure.RMSDBFS(c.Frames[len(c.Frames)/2:])
}

func random(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0)) }
