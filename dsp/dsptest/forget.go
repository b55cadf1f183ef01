package dsptest

import (
	"math"
	"slices"
	"testing"

	"strop/dsp"
)

// Forgets reports whether p, after as many frames as SettleFrames tells, still
// shows in what it makes of pink noise what it had heard before: a second of
// silence, or of other noise that is 12 dB louder.
func Forgets(t testing.TB, p dsp.Processor, rateHz float64) {
	t.Helper()
	settler, ok := p.(dsp.Settler)
	if !ok {
		t.Errorf("it does not tell how much it remembers")
		return
	}
	settle := settler.SettleFrames()
	common := pinkAt(rateHz, 3, settle+int(rateHz/4), 0.05)
	after := func(before []dsp.Frame) []dsp.Frame {
		out := slices.Clone(common)
		p.Reset()
		p.Process(before)
		p.Process(out)
		return out[settle:]
	}
	one, other := after(make([]dsp.Frame, int(rateHz))), after(pinkAt(rateHz, 4, int(rateHz), 0.2))
	most := 0.0
	for i := range one {
		most = max(most, math.Abs(one[i][0]-other[i][0]), math.Abs(one[i][1]-other[i][1]))
	}
	if db := dsp.ToDB(most); !(db < nullDB) {
		t.Errorf("after %d frames it differs by %.0f dB, for what it had heard before them", settle, db)
	}
}

func pinkAt(rateHz float64, seed uint64, n int, ratio float64) []dsp.Frame {
	frames := make([]dsp.Frame, n)
	dsp.NewPink(rateHz, seed).Fill(frames)
	dsp.Gain(ratio).Process(frames)
	return frames
}
