package tools_test

import (
	"testing"

	"strop/dsp"
	"strop/dsp/measure"
)

// Each insert in excess is heard beside the same chain without excess, by the
// 1 dB of excitation that is usually heard: twice that at the easy end, half of it
// and more at the hard one. For nothing there is no chain.
func TestMixInserts(t *testing.T) {
	drill := tool(t, "mix-insert")
	clip := materials(t)[0]
	clip.Stems = nil
	plain := changed(t, drill, clip, dsp.Setting{"insert": 0, "size": 1}, clip.Frames)
	for n := 1.0; n <= 4; n++ {
		heard := func(size float64) float64 {
			out := changed(t, drill, clip, dsp.Setting{"insert": n, "size": size}, clip.Frames)
			dsp.Gain(dsp.FromDB(measure.IntegratedLUFS(plain, testRateHz) - measure.IntegratedLUFS(out, testRateHz))).Process(out)
			return measure.Audible(plain, out, testRateHz).DB
		}
		easy, hard := heard(drill.Level.Max), heard(drill.Level.Min)
		if easy < 2 || hard < 0.5 || hard > easy {
			t.Errorf("%s: %.2f dB at the easy end, %.2f at the hard one", drill.Region(dsp.Setting{"insert": n}), easy, hard)
		}
	}
	if inserts, err := drill.Change(clip, 0, dsp.Setting{}); err != nil || inserts != nil {
		t.Errorf("nothing is made with %v (%v)", inserts, err)
	}
}
