package dynamics

import (
	"math"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// beats are bursts of 1 kHz that die away by 60 dB in a second, one every half
// second.
func beats(ratio float64) []dsp.Frame {
	buf := dsptest.Sine(48000, 1000, ratio, math.Pi/2, 96000)
	for i := range buf {
		dsp.Gain(math.Pow(10, -3*math.Mod(float64(i)/48000, 0.5))).Process(buf[i : i+1])
	}
	return buf
}

// gainDB is the change of energy from in to out over frames from … to.
func gainDB(in, out []dsp.Frame, from, to int) float64 {
	var a, b float64
	for i := from; i < to; i++ {
		a += in[i][0] * in[i][0]
		b += out[i][0] * out[i][0]
	}
	return dsp.PowerToDB(b / a)
}

// A beginning gets attackDB, a tail sustainDB in proportion, neither touches
// the other's part.
func TestTransientTellsAttackFromSustain(t *testing.T) {
	in, worst := beats(0.3), 0.0
	off := func(got, want float64) float64 {
		worst = max(worst, math.Abs(got-want))
		return math.Abs(got - want)
	}
	for _, db := range []float64{-9, 9} {
		out := slices.Clone(in)
		build(t, Transient, dsp.Setting{"attackDB": db}).Process(out)
		// The second beat begins 30 dB above the tail of the first: in full
		// until the slow level is within 12 dB, 20·ln(30/12) = 18 ms.
		if got := gainDB(in, out, 24000+300, 24000+500); off(got, db) > 0.3 {
			t.Errorf("attack %g dB: the beginning is changed by %.2f dB", db, got)
		}
		if got := gainDB(in, out, 24000+12000, 47000); math.Abs(got) > 0.05 {
			t.Errorf("attack %g dB: the tail is changed by %.2f dB", db, got)
		}
		out = slices.Clone(in)
		build(t, Transient, dsp.Setting{"sustainDB": db}).Process(out)
		if got := gainDB(in, out, 24000+300, 24000+500); math.Abs(got) > 0.5 {
			t.Errorf("sustain %g dB: the beginning is changed by %.2f dB", db, got)
		}
		// A level that falls by 60 dB a second is 60·0.2 = 12 dB under one that
		// follows by 200 ms, once settled: full sustain.
		if got := gainDB(in, out, 46000, 47900); off(got, db*(1-math.Exp(-0.47/0.2))) > 0.5 {
			t.Errorf("sustain %g dB: the tail is changed by %.2f dB", db, got)
		}
	}
	t.Logf("worst: %.3f dB", worst)
}

// A steady tone passes unchanged, and soft beats are treated as loud ones.
func TestTransientComparesLevels(t *testing.T) {
	s := dsp.Setting{"attackDB": 12, "sustainDB": -12}
	if got := sineDB(build(t, Transient, s), 100, -12); math.Abs(got) > 0.01 {
		t.Errorf("a steady tone is changed by %g dB", got)
	}
	loud, soft := beats(0.5), beats(0.05)
	build(t, Transient, s).Process(loud)
	build(t, Transient, s).Process(soft)
	// the second beat: the first one comes out of silence, which is not scaled
	if d := gainDB(soft, loud, 24000, 30000) - 20; math.Abs(d) > 0.01 {
		t.Errorf("soft beats differ by %g dB", d)
	}
}
