package tools_test

import (
	"slices"
	"testing"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
)

// What was brought up covers the other stems most in the range that is right,
// measured anew of the sound: stems that were turned and added up for real.
func TestMixCrowded(t *testing.T) {
	drill := tool(t, "mix-crowded")
	session := sitting(t, drill, drill.Rungs[0], 0.7, 6, 5)
	answers := drill.Rungs[0].Choices
	centresHz := []float64{90, 350, 1400, 5600}
	for range 6 {
		r, err := session.Next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		up, before, after := broughtUp(t, drill, r)
		best, most := 0, 0.0
		for i := range answers {
			lo, hi, more, parts := centresHz[i]/2, centresHz[i]*2, 0.0, 0.0
			for on := range r.Clip.Stems {
				if f := r.Clip.On(on + 1); r.Clip.Plays(on+1) && !slices.Contains(up, on+1) && rangeDB(f, lo, hi) > f.TotalDB-20 {
					more += measure.MaskedWithinDB(f, after, lo, hi) - measure.MaskedWithinDB(f, before, lo, hi)
					parts++
				}
			}
			if mean := more / max(parts, 1); mean > most {
				best, most = i, mean
			}
		}
		if answers[best].Guess["range"] != r.Trial.Truth["range"] {
			t.Errorf("%s: %s by the sound, %v by the drill", r.Clip.Name, answers[best].Label, r.Trial.Truth)
		}
		if _, err := session.Answer(t.Context(), drills.Given{Guess: r.Trial.Truth}); err != nil {
			t.Fatal(err)
		}
	}
}

// broughtUp is which stems came up, and what they are together before and after.
func broughtUp(t *testing.T, drill drills.Tool, r *drills.Round) (up []int, before, after measure.Facts) {
	t.Helper()
	inserts, err := drill.Change(r.Clip, 0, r.Trial.Truth)
	if err != nil {
		t.Fatal(err)
	}
	sums := [2][]dsp.Frame{make([]dsp.Frame, len(r.Clip.Frames)), make([]dsp.Frame, len(r.Clip.Frames))}
	for _, in := range inserts {
		up = append(up, in.Stems...)
		frames, err := r.Clip.Target(in.Stems[0])
		if err != nil {
			t.Fatal(err)
		}
		out := slices.Clone(frames)
		in.Processor.Process(out)
		for i := range frames {
			for ch := range 2 {
				sums[0][i][ch] += frames[i][ch]
				sums[1][i][ch] += out[i][ch]
			}
		}
	}
	return up, measure.FactsOf(sums[0], r.Clip.Loop.RateHz), measure.FactsOf(sums[1], r.Clip.Loop.RateHz)
}

// rangeDB is the level of a sound between two frequencies.
func rangeDB(f measure.Facts, loHz, hiHz float64) float64 {
	var bands [dsp.ThirdOctaves]float64
	for i := range bands {
		bands[i] = -300
		if hz := dsp.ThirdOctaveHz(i); hz >= loHz && hz <= hiHz {
			bands[i] = f.BandsDB[i]
		}
	}
	return measure.TotalDB(bands)
}
