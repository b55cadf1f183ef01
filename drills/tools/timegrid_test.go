package tools_test

import (
	"math"
	"testing"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
)

// The click stands on every beat: at 120 BPM every half second, from the first
// beat of the loop on, whether anything is shifted or not, and whatever the
// size of the blocks.
func TestClickOnTheBeats(t *testing.T) {
	drill := tool(t, "time-grid")
	c := clipOf("silence", make([]dsp.Frame, 2*testRateHz))
	c.Beats, c.Facts.LoudnessLUFS = drills.Beats{TempoBPM: 120, FirstS: 0.2}, -23
	inserts, err := drill.Change(c, 0, dsp.Setting{})
	if err != nil || len(inserts) != 1 || inserts[0].Stems != nil {
		t.Fatalf("the click stands on %v (%v)", inserts, err)
	}
	p := inserts[0].Processor
	out := make([]dsp.Frame, 2*testRateHz)
	p.Process(out)
	var beats []float64
	for i := 1; i < len(out); i++ {
		if out[i][0] != 0 && out[i-1][0] == 0 && (len(beats) == 0 || float64(i)/testRateHz > beats[len(beats)-1]+0.1) {
			beats = append(beats, float64(i)/testRateHz)
		}
	}
	if want := []float64{0.2, 0.7, 1.2, 1.7}; len(beats) != len(want) {
		t.Errorf("clicks at %v s, want %v", beats, want)
	} else {
		for i, s := range want {
			near(t, "a click", beats[i], s, 2/testRateHz)
		}
	}
	if peak := measure.TruePeakDBTP(out, testRateHz); peak > -11 || peak < -16 {
		t.Errorf("a click over −23 LUFS peaks at %.1f dBTP", peak)
	}
	p.Reset()
	again := make([]dsp.Frame, len(out))
	for from := 0; from < len(again); from += 480 {
		p.Process(again[from : from+480])
	}
	for i := range out {
		if math.Abs(out[i][0]-again[i][0]) > 0 {
			t.Fatalf("frame %d is another in blocks of 480", i)
		}
	}
}
