package tools_test

import (
	"math"
	"testing"

	"strop/drills"
	"strop/drills/drilltest"
	"strop/drills/tools"
	"strop/dsp"
)

// The whole family: what must hold for every drill, on five materials.
func TestEveryDrill(t *testing.T) {
	clips := materials(t)
	seen := map[string]bool{}
	for _, tool := range tools.All() {
		if seen[tool.ID] {
			t.Errorf("%s stands twice in the table", tool.ID)
		}
		seen[tool.ID] = true
		t.Run(tool.ID, func(t *testing.T) { drilltest.Check(t, tool, clips...) })
	}
	for _, tool := range tools.All() {
		for _, id := range tool.Confusable {
			if !seen[id] {
				t.Errorf("%s is taken for %q, which is no drill", tool.ID, id)
			}
		}
	}
}

func find(t *testing.T, rungID string) (drills.Tool, drills.Rung) {
	t.Helper()
	tool, err := tools.Find("eq-band")
	if err != nil {
		t.Fatal(err)
	}
	rung, err := tool.Rung(rungID)
	if err != nil {
		t.Fatal(err)
	}
	return tool, rung
}

// Bands an octave or more apart on the first rungs; IEC 61260-1 mid-bands.
func TestBandRungs(t *testing.T) {
	for id, want := range map[string]struct {
		n        int
		apartOct float64
	}{"five": {5, 1}, "seven": {7, 0.99}, "ten": {10, 0.99}, "thirds": {26, 0.33}} {
		_, rung := find(t, id)
		if len(rung.Choices) != want.n {
			t.Errorf("%s: %d choices", id, len(rung.Choices))
		}
		for i := 1; i < len(rung.Choices); i++ {
			if d := dsp.Octaves(rung.Choices[i-1].Guess["freqHz"], rung.Choices[i].Guess["freqHz"]); d < want.apartOct {
				t.Errorf("%s: %s is %.3f octaves from its neighbour", id, rung.Choices[i].Label, d)
			}
		}
	}
	if _, rung := find(t, "seven"); rung.Choices[0].Label != "125 Hz" || rung.Choices[6].Label != "8 kHz" {
		t.Errorf("seven bands from %s to %s", rung.Choices[0].Label, rung.Choices[6].Label)
	}
}

func TestReadBand(t *testing.T) {
	asked := dsp.Setting{"freqHz": 1000, "gainDB": -9, "q": 1}
	for _, c := range []struct {
		rung, text string
		wantHz     float64
	}{
		{"five", "3", 1000}, {"five", "800", 1000}, {"five", "2k5", 3162.27766}, {"five", " 10k ", 10000},
		{"ten", "10", 15848.93192}, {"free", "2k5", 2500}, {"free", "3 kHz", 3000}, {"thirds", "26", 15848.93192},
	} {
		tool, rung := find(t, c.rung)
		guess, err := tool.Read(rung, asked, c.text)
		if err != nil || math.Abs(guess["freqHz"]-c.wantHz) > 1e-4 || guess["gainDB"] != -9 || guess["q"] != 1 {
			t.Errorf("%s %q: %v, %v; want %g Hz and the rest as asked", c.rung, c.text, guess, err, c.wantHz)
		}
	}
	tool, rung := find(t, "free")
	for _, text := range []string{"", "loud", "-3", "19", "20001", "3"} {
		if guess, err := tool.Read(rung, asked, text); err == nil {
			t.Errorf("free %q: %v", text, guess)
		}
	}
}

func TestGradeBand(t *testing.T) {
	tool, rung := find(t, "free")
	last := 0.0
	for _, hz := range []float64{1000, 1100, 1300, 2000, 4000, 16000} {
		s := tool.Grade(rung, dsp.Setting{"freqHz": 1000, "gainDB": 6}, dsp.Setting{"freqHz": hz, "gainDB": 6})
		if s.Errors["errorOct"] < last {
			t.Errorf("%g Hz is nearer than the one before: %g", hz, s.Errors["errorOct"])
		}
		if want := math.Log2(hz/1000) <= 1.0/3; s.Right != want {
			t.Errorf("%g Hz right: %v", hz, s.Right)
		}
		last = s.Errors["errorOct"]
	}
	// The octave 1 to 2 kHz is 5.53 Cam: Glasberg & Moore 1990, computed
	// independently from the formula.
	s := tool.Grade(rung, dsp.Setting{"freqHz": 1000, "gainDB": 6}, dsp.Setting{"freqHz": 2000, "gainDB": 6})
	if math.Abs(s.Errors["errorCams"]-5.534) > 0.001 {
		t.Errorf("1 to 2 kHz: %g Cam", s.Errors["errorCams"])
	}
}

func TestTellBand(t *testing.T) {
	tool, rung := find(t, "ten")
	at := func(band int, db float64) dsp.Setting {
		return dsp.Setting{"freqHz": dsp.ThirdOctaveHz(band), "gainDB": db}
	}
	for _, c := range []struct {
		truth, guess dsp.Setting
		want         string
	}{
		{at(12, 6), at(12, 6), "It was +6.0 dB at 315 Hz, as you said."},
		{at(12, 6), at(13, 6), "It was +6.0 dB at 315 Hz; you said 400 Hz, a third of an octave high."},
		{at(20, -9), at(17, -9), "It was −9.0 dB at 2 kHz; you said 1 kHz, an octave low."},
		{dsp.Setting{}, at(17, 3), "Nothing was changed; you said 1 kHz."},
		{at(17, 3), dsp.Setting{}, "It was +3.0 dB at 1 kHz; you said nothing was changed."},
		{dsp.Setting{}, dsp.Setting{}, "Nothing was changed, as you said."},
	} {
		if got := tool.Tell(rung, c.truth, c.guess); got != c.want {
			t.Errorf("got  %q\nwant %q", got, c.want)
		}
	}
	if got := tool.Region(at(13, 3)); got != "500 Hz" {
		t.Errorf("400 Hz lies in %q", got)
	}
}
