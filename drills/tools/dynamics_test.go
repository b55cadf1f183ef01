package tools_test

import (
	"math"
	"testing"

	"strop/drills"
	"strop/drills/tools"
	"strop/dsp"
	"strop/dsp/measure"
)

// inserted is what a drill puts on the first stem of noise.
func inserted(t *testing.T, id string, s dsp.Setting) dsp.Processor {
	t.Helper()
	tool, err := tools.Find(id)
	if err != nil {
		t.Fatal(err)
	}
	inserts, err := tool.Change(noiseClip(), 1, s)
	if err != nil {
		t.Fatal(err)
	}
	return inserts[0].Processor
}

// What a compressor is set to is what the static curve and the step of level
// read: the curve of Giannoulis, Massberg & Reiss, JAES 60(6) (2012), eq. 4,
// and the times of its smooth decoupled detector.
func TestCompressorsDoAsAsked(t *testing.T) {
	steps := measure.Steps{FromDB: -60, ToDB: 0, StepDB: 2, StepS: 0.8}
	for _, ratio := range []float64{2, 4, 10} {
		fit := measure.FitCurve(measure.StaticCurve(inserted(t, "comp-ratio", dsp.Setting{"ratio": ratio}), madeRateHz, steps))
		near(t, "ratio in octaves", math.Log2(fit.Ratio/ratio), 0, 0.05)
	}
	for _, c := range []struct {
		id, param string
		ms        []float64
	}{{"comp-attack", "attackMS", []float64{1, 8, 50}}, {"comp-release", "releaseMS", []float64{40, 200, 800}}} {
		for _, ms := range c.ms {
			p := inserted(t, c.id, dsp.Setting{c.param: ms})
			curve := measure.FitCurve(measure.StaticCurve(p, madeRateHz, steps))
			times := measure.FitTimes(measure.TrackGain(p, madeRateHz, measure.UsualBurst()), curve)
			got := map[string]float64{"attackMS": times.AttackMS, "releaseMS": times.ReleaseMS}[c.param]
			near(t, c.param+" in octaves", math.Log2(got/ms), 0, 0.15)
		}
	}
}

// dealt makes a few trials of a drill on the materials that suit it, and shows
// what each is made on, untouched and changed.
func dealt(t *testing.T, id string, n int, look func(r *drills.Round, before, after []dsp.Frame)) {
	t.Helper()
	tool, err := tools.Find(id)
	if err != nil {
		t.Fatal(err)
	}
	s := sitting(t, tool, tool.Rungs[len(tool.Rungs)-1], 0.8, n, 9)
	for range n {
		r, err := s.Next(t.Context())
		if err != nil {
			t.Fatal(id, err)
		}
		before, after := r.Untouched, r.Changed
		if r.Solo[0] != nil {
			before, after = r.Solo[0], r.Solo[1]
		}
		look(r, before, after)
		if _, err := s.Answer(t.Context(), drills.Given{Guess: r.Trial.Truth}); err != nil {
			t.Fatal(err)
		}
	}
}

// What is told of a de-esser, by the meter of sibilants.
func TestDeEssedByTheMeter(t *testing.T) {
	dealt(t, "deess-much", 3, func(r *drills.Round, before, after []dsp.Frame) {
		rateHz := r.Trial.Loop.RateHz
		var was, is float64
		for _, e := range measure.SibilanceOf(before, rateHz).Sibilants {
			was += topPower(before[e.Frame:e.Frame+e.Frames], rateHz)
			is += topPower(after[e.Frame:e.Frame+e.Frames], rateHz)
		}
		if was == 0 {
			return
		}
		fellDB := dsp.PowerToDB(was / is)
		if truth := r.Trial.Truth["essDB"]; fellDB < truth/2 || fellDB > 2*truth {
			t.Errorf("%s: the sibilants fell by %.1f dB, told are %.1f dB", r.Clip.Name, fellDB, truth)
		}
	})
}

// topPower is the power from 5 to 10 kHz, from third octaves.
func topPower(buf []dsp.Frame, rateHz float64) (power float64) {
	for i, db := range measure.ThirdOctavesDB(buf, rateHz) {
		if hz := dsp.ThirdOctaveHz(i); hz > 4900 && hz < 10100 {
			power += math.Pow(10, db/10)
		}
	}
	return power
}

// The peak over the loudness that is told as lost is that of the meters.
func TestDynamicsLostByTheMeters(t *testing.T) {
	dealt(t, "comp-over", 3, func(r *drills.Round, before, after []dsp.Frame) {
		rateHz := r.Trial.Loop.RateHz
		plr := func(f []dsp.Frame) float64 {
			return measure.TruePeakDBTP(f, rateHz) - measure.IntegratedLUFS(f, rateHz)
		}
		near(t, r.Clip.Name, plr(before)-plr(after), r.Trial.Truth["crestDB"], 0.1)
	})
}

// What a matched compressor leaves is nothing; one that does nothing leaves
// what the compressor did.
func TestMatchLeavesNothing(t *testing.T) {
	tool, err := tools.Find("make-comp")
	if err != nil {
		t.Fatal(err)
	}
	s := sitting(t, tool, tool.Rungs[0], 1, 4, 6)
	for i := range 4 {
		r, err := s.Next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		guess := r.Trial.Truth
		if i%2 == 1 {
			guess = dsp.Setting{"thresholdDB": 0, "ratio": 1}
		}
		o, err := s.Answer(t.Context(), drills.Given{Guess: guess})
		if err != nil {
			t.Fatal(err)
		}
		remainsDB := o.Record.Score.Errors[drills.RemainsDB]
		if matched := i%2 == 0; matched && remainsDB > 0.05 || !matched && remainsDB < 0.5*r.Trial.AudibleDB {
			t.Errorf("%s, matched %v: %.2f dB remain of %.2f", r.Clip.Name, matched, remainsDB, r.Trial.AudibleDB)
		}
	}
}

// Decay as told, against a straight line through the levels of noise that is
// switched off: interrupted noise, ISO 3382-1:2009, in the octave of 1 kHz.
func TestDecayIsThatOfInterruptedNoise(t *testing.T) {
	for _, wantS := range []float64{0.6, 1.2, 2} {
		p := inserted(t, "reverb-decay", dsp.Setting{"decayS": wantS})
		noise := make([]dsp.Frame, 4*madeRateHz)
		dsp.NewPink(madeRateHz, 2).Fill(noise[:2*madeRateHz])
		p.Reset()
		p.Process(noise)
		tail := noise[2*madeRateHz+dsp.DelayFrames(p):]
		var n, sx, sy, sxx, sxy float64
		const hop = madeRateHz / 20
		for i := 1; (i+1)*hop < int(0.6*wantS*madeRateHz); i++ {
			db := measure.ThirdOctavesDB(tail[i*hop:(i+1)*hop], madeRateHz)[17]
			x := float64(i*hop) / madeRateHz
			n, sx, sy, sxx, sxy = n+1, sx+x, sy+db, sxx+x*x, sxy+x*db
		}
		gotS := -60 / ((n*sxy - sx*sy) / (n*sxx - sx*sx))
		near(t, "decay over what was asked", gotS/wantS, 1, 0.15)
	}
}
