package fault_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/fault"
	"strop/dsp/measure"
)

// Clicks and pops that peak 3 dB under the material: nine in ten are
// found, within 2 frames and 1 dB, with no more than one in twenty beside
// them; in what is clean there are none.
func TestClicksAreFound(t *testing.T) {
	for _, m := range materials(t) {
		if clicks := measure.ClicksOf(m.frames, m.rateHz); len(clicks) > 0 {
			t.Errorf("%s as it is: %v", m.name, clicks)
		}
		peakDB := measure.SamplePeakDBFS(m.frames)
		for _, c := range []struct {
			spec dsp.Spec
			set  dsp.Setting
		}{
			{fault.Clicks, dsp.Setting{"perS": 5, "levelDBFS": peakDB - 3}},
			{fault.Crackle, dsp.Setting{"perS": 10, "levelDBFS": min(-6, peakDB-3), "spreadDB": 2}},
			{fault.Crackle, dsp.Setting{"perS": 3, "levelDBFS": min(-6, peakDB-3), "spreadDB": 0, "seed": 5}},
		} {
			buf, p := m.with(t, c.spec, c.set)
			places, found := p.(fault.Reporter).Places(), measure.ClicksOf(buf, m.rateHz)
			hits := matches(places, found, func(p fault.Place, e measure.Event) bool {
				return math.Abs(float64(p.Frame-e.Frame)) <= 2 && math.Abs(p.SizeDB-e.SizeDB) <= 1
			})
			if float64(hits) < 0.88*float64(len(places)) || float64(len(found)) > 1.05*float64(len(places)) {
				t.Errorf("%s, %s: of %d places %d were found right, %d in all", m.name, c.spec.ID, len(places), hits, len(found))
			}
		}
	}
}

// matches is how many places have an event that is right.
func matches(places []fault.Place, found []measure.Event, right func(fault.Place, measure.Event) bool) (hits int) {
	for _, p := range places {
		for _, e := range found {
			if right(p, e) {
				hits++
				break
			}
		}
	}
	return hits
}

// Moments are a Poisson process with a dead time: as many as stated, their
// gaps as scattered as an exponential's.
func TestMoments(t *testing.T) {
	for _, c := range []struct {
		spec        dsp.Spec
		perS, restS float64
	}{
		{fault.Clicks, 5, 0.024}, {fault.Crackle, 20, 0.004}, {fault.Dropout, 2, 0.070}, {fault.TapeDropout, 2, 0.100},
	} {
		const seconds, rateHz = 150, 8000
		p, err := c.spec.New(rateHz, dsp.Setting{"perS": c.perS})
		if err != nil {
			t.Fatal(err)
		}
		p.Process(make([]dsp.Frame, seconds*rateHz))
		places := p.(fault.Reporter).Places()
		expected := c.perS * seconds
		near(t, c.spec.ID+": places", float64(len(places)), expected, 3*math.Sqrt(expected))
		var sum, squares float64
		for i := 1; i < len(places); i++ {
			gapS := float64(places[i].Frame-places[i-1].Frame)/rateHz - c.restS
			if gapS < -2.0/rateHz {
				t.Errorf("%s: a gap of %g s", c.spec.ID, gapS+c.restS)
			}
			sum, squares = sum+gapS, squares+gapS*gapS
		}
		n := float64(len(places) - 1)
		// The square of the mean of an exponential is half its mean square.
		near(t, c.spec.ID+": mean² over mean square", sum*sum/n/squares, 0.5, 0.1)
	}
}

// Another seed is other places; the same, the same.
func TestSeeds(t *testing.T) {
	for _, spec := range []dsp.Spec{fault.Clicks, fault.Crackle, fault.Dropout, fault.TapeDropout} {
		first := func(seed float64) fault.Place {
			p, err := spec.New(48000, dsp.Setting{"perS": 2, "seed": seed})
			if err != nil {
				t.Fatal(err)
			}
			p.Process(make([]dsp.Frame, 480000))
			return p.(fault.Reporter).Places()[0]
		}
		if first(1) != first(1) || first(1) == first(2) {
			t.Errorf("%s: first places %v, %v; with another seed %v", spec.ID, first(1), first(1), first(2))
		}
	}
}

// Every click is 1 to 5 equal samples, or a step that is at 37 % after 2 ms; a
// pop begins at its peak, is 60 dB lower after 0.3 to 2 ms, and swings 1000 to
// 5000 times a second; the median of the peaks and their deviation are those
// that were asked for.
func TestShapesOfClicks(t *testing.T) {
	silence := material{"silence", 48000, make([]dsp.Frame, 40*48000)}
	buf, p := silence.with(t, fault.Clicks, dsp.Setting{"perS": 10, "levelDBFS": -20})
	steps := 0
	for _, place := range p.(fault.Reporter).Places() {
		first, rest := buf[place.Frame][0], buf[place.Frame+place.Frames]
		near(t, "peak", math.Abs(first), 0.1, 1e-12)
		if rest != (dsp.Frame{}) || buf[place.Frame-1] != (dsp.Frame{}) {
			t.Fatalf("a click is longer than its place %v", place)
		}
		switch {
		case place.Frames > 5:
			steps++
			near(t, "a step after 2 ms", buf[place.Frame+96][0]/first, math.Exp(-1), 1e-9)
		case buf[place.Frame+place.Frames-1][0] != first:
			t.Errorf("a click of %d samples is not flat", place.Frames)
		}
	}
	if n := len(p.(fault.Reporter).Places()); steps < n/6 || steps > n/3 {
		t.Errorf("of %d clicks %d are steps", n, steps)
	}
}

func TestShapesOfPops(t *testing.T) {
	silence := material{"silence", 192000, make([]dsp.Frame, 40*192000)}
	buf, p := silence.with(t, fault.Crackle, dsp.Setting{"perS": 20, "levelDBFS": -20, "spreadDB": 4})
	var sizes []float64
	sum := 0.0
	for _, place := range p.(fault.Reporter).Places() {
		if place.Frame+place.Frames > len(buf) {
			continue
		}
		side := 0
		if math.Abs(buf[place.Frame][1]) > math.Abs(buf[place.Frame][0]) {
			side = 1
		}
		near(t, "peak", dsp.ToDB(buf[place.Frame][side]), place.SizeDB, 1e-9)
		if ms := float64(place.Frames) / 192; ms < 0.3-0.01 || ms > 2.01 {
			t.Errorf("a pop of %g ms", ms)
		}
		// Half a cycle from the peak on, the first zero is passed after a quarter.
		quarter := 0
		for math.Signbit(buf[place.Frame+quarter][side]) == math.Signbit(buf[place.Frame][side]) {
			quarter++
		}
		if freqHz := 192000 / 4 / float64(quarter); freqHz < 960 || freqHz > 5100 {
			t.Errorf("a pop of about %g Hz", freqHz)
		}
		sizes, sum = append(sizes, place.SizeDB), sum+place.SizeDB
	}
	near(t, "median", middle(sizes), -20, 0.6)
	deviation, mean := 0.0, sum/float64(len(sizes))
	for _, dB := range sizes {
		deviation += (dB - mean) * (dB - mean)
	}
	// Cut off at two deviations, a normal distribution has 0.88 of its own, the
	// values beyond put on the edge 0.96 (computed from the formula).
	near(t, "deviation", math.Sqrt(deviation/float64(len(sizes))), 4*0.96, 0.3)
}
