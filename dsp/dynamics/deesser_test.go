package dynamics

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// Held at its range, the de-esser is the stated shelf:
// |H|² = (1 + g²ω⁴)/(1 + ω⁴), ω the ratio of the tangents.
func TestDeEsserShelf(t *testing.T) {
	worst := 0.0
	for _, rangeDB := range []float64{3, 12, 24} {
		g := dsp.FromDB(-rangeDB)
		for _, freqHz := range []float64{1000, 3000, 5000, 8000, 16000} {
			p := build(t, DeEsser, dsp.Setting{"thresholdDB": -60, "ratio": 20, "rangeDB": rangeDB, "freqHz": 5000})
			w := math.Tan(math.Pi*freqHz/48000) / math.Tan(math.Pi*5000/48000)
			want := dsp.PowerToDB((1 + math.Pow(w, 4)) / (1 + g*g*math.Pow(w, 4)))
			in := dsptest.Sine(48000, freqHz, 0.9, 0, 96000)
			p.Process(in)
			sum := 0.0
			for _, f := range in[48000:] {
				sum += f[0] * f[0]
			}
			got := -dsp.PowerToDB(sum / 48000 / (0.81 / 2))
			worst = max(worst, math.Abs(got-want))
			if math.Abs(got-want) > 0.02 {
				t.Errorf("range %g dB at %g Hz: %.3f dB down, want %.3f", rangeDB, freqHz, got, want)
			}
		}
	}
	t.Logf("worst: %.4f dB", worst)
}

// On treble well above the corner it is a compressor; on bass it is not there.
func TestDeEsserHearsTrebleOnly(t *testing.T) {
	s := dsp.Setting{"thresholdDB": -30, "ratio": 2, "rangeDB": 24, "freqHz": 2000}
	if got := sineDB(build(t, DeEsser, s), 15000, -10); math.Abs(got-10) > 0.1 {
		t.Errorf("15 kHz, 20 dB over, ratio 2: %.3f dB, want 10", got)
	}
	if got := sineDB(build(t, DeEsser, s), 200, -6); math.Abs(got) > 1e-9 {
		t.Errorf("200 Hz: %g dB", got)
	}
}
