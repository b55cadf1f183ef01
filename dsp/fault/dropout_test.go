package fault_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/fault"
	"strop/dsp/measure"
)

// Dropouts are found where there was sound to lose, to the frame where they
// have no edges; in what is clean there are none, and none beside them.
func TestDropoutsAreFound(t *testing.T) {
	tried := 0
	for _, m := range materials(t) {
		if found := measure.DropoutsOf(m.frames, m.rateHz); len(found) > 0 {
			t.Errorf("%s as it is: %v", m.name, found)
		}
		for _, set := range []dsp.Setting{{"perS": 3, "lengthMS": 5}, {"perS": 3, "lengthMS": 20, "edgeMS": 1}, {"perS": 2, "lengthMS": 100, "seed": 2}} {
			buf, p := m.with(t, fault.Dropout, set)
			places, found := m.sounding(p.(fault.Reporter).Places(), -10), measure.DropoutsOf(buf, m.rateHz)
			edge := set.Get(dsp.Param{ID: "edgeMS"}) * m.rateHz / 1000
			hits := matches(places, found, func(p fault.Place, e measure.Event) bool {
				return math.Abs(float64(e.Frame-p.Frame)-edge) <= 2+edge/2 && math.Abs(float64(p.Frames-e.Frames)-2*edge) <= 4+edge &&
					math.IsInf(e.SizeDB, -1)
			})
			if float64(hits) < 0.9*float64(len(places)) {
				t.Errorf("%s, %v: of %d dropouts in sound %d were found right", m.name, set, len(places), hits)
			}
			tried += len(places)
			all := p.(fault.Reporter).Places()
			strays := len(found)
			for _, e := range found {
				for _, p := range all {
					if e.Frame >= p.Frame && e.Frame < p.Frame+p.Frames {
						strays--
					}
				}
			}
			if strays > 0 {
				t.Errorf("%s, %v: %d found where there are none", m.name, set, strays)
			}
		}
	}
	if tried < 200 {
		t.Errorf("only %d dropouts fell on sound", tried)
	}
}

// sounding are the places that lie wholly in the material, at which it and the
// 10 ms on either side reach a level, in dB re its rms.
func (m material) sounding(places []fault.Place, reDB float64) (in []fault.Place) {
	beside, rmsDB := int(0.010*m.rateHz), measure.RMSDBFS(m.frames)
	for _, p := range places {
		from, to := p.Frame-beside, p.Frame+p.Frames+beside
		if from < 0 || to > len(m.frames) {
			continue
		}
		least := min(measure.RMSDBFS(m.frames[from:p.Frame]), measure.RMSDBFS(m.frames[p.Frame:to-beside]), measure.RMSDBFS(m.frames[to-beside:to]))
		if least > rmsDB+reDB {
			in = append(in, p)
		}
	}
	return in
}
