package space_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/space"
)

// recording is a click, then noise that decays, in silence or in faint noise.
func recording(lead int) []dsp.Frame {
	buf := dsptest.Noise(4, 0.3, 24000)
	for i := range buf {
		fall := math.Exp(-float64(i) / 2500)
		buf[i][0] *= fall
		buf[i][1] *= fall
	}
	buf[0] = dsp.Frame{0.5, 0.5}
	return append(make([]dsp.Frame, lead), append(buf, make([]dsp.Frame, 30000)...)...)
}

func TestRecorded(t *testing.T) {
	r, err := space.Recorded(48000, recording(10000), nil)
	if err != nil {
		t.Fatal(err)
	}
	if r[0][1] != nil || r[1][0] != nil || r[0][0][48] == 0 || r[0][0][47] != 0 {
		t.Errorf("it begins with %v, crosses %d", r[0][0][46:50], len(r[0][1]))
	}
	if n := r.Len(); n < 20000 || n > 25000 {
		t.Errorf("%d frames are kept", n)
	}
	if got := r.Energy(); math.Abs(got-1) > 1e-12 {
		t.Errorf("energy %g", got)
	}
	true4, err := space.Recorded(48000, recording(500), recording(600))
	if err != nil || true4[1][0] == nil || true4[0][0][48] == 0 || true4[1][1][148] == 0 || true4[1][1][147] != 0 {
		t.Errorf("two takes lose what lies between them: %v", err)
	}
}

func TestRecordedRefuses(t *testing.T) {
	bad := recording(100)
	bad[5][1] = math.NaN()
	for name, take := range map[string][]dsp.Frame{"nothing": nil, "silence": make([]dsp.Frame, 1000), "NaN": bad} {
		if _, err := space.Recorded(48000, take, nil); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
}

// A reverb by one's own response keeps the contract as any other does.
func TestOwnContract(t *testing.T) {
	r, err := space.Recorded(48000, recording(100), recording(150))
	if err != nil {
		t.Fatal(err)
	}
	dsptest.Check(t, space.Own(r), dsp.Setting{"drrDB": 3, "predelayMS": 20, "widthPct": 50})
	plain, err := space.Recorded(48000, recording(100), nil)
	if err != nil {
		t.Fatal(err)
	}
	p, err := space.NewOwn(48000, plain, dsp.Setting{"drrDB": 3, "widthPct": 0})
	if err != nil {
		t.Fatal(err)
	}
	if got := dsp.PowerToDB(p.Response().Energy()); math.Abs(got+3) > 1e-9 || p.Response()[0][1][100] != p.Response()[0][0][100] {
		t.Errorf("energy %.4f dB, or not mono", got)
	}
}
