package fault_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/content/demo"
	"strop/dsp"
	"strop/dsp/fault"
	"strop/dsp/measure"
)

// looped is the material with a fault as a loop has it that goes round: the
// second time through, the latency taken out; and where it acted.
func (m material) looped(t *testing.T, spec dsp.Spec, set dsp.Setting) ([]dsp.Frame, []fault.Place) {
	t.Helper()
	p, err := spec.New(m.rateHz, set)
	if err != nil {
		t.Fatal(err)
	}
	n, late := len(m.frames), dsp.DelayFrames(p)
	buf := append(append(append([]dsp.Frame(nil), m.frames...), m.frames...), make([]dsp.Frame, late)...)
	p.Process(buf)
	var places []fault.Place
	for _, place := range p.(fault.Reporter).Places() {
		if place.Frame -= n + late; place.Frame >= 0 && place.Frame+place.Frames <= n {
			places = append(places, place)
		}
	}
	return buf[n+late:], places
}

// finding is how well a meter found a fault again.
type finding struct {
	places, found, strays int
	off                   []float64 // dB, of those found
}

// add compares events with places; what was there on the clean side is left
// out.
func (f *finding) add(places []fault.Place, events, clean []measure.Event, slack int) {
	meets := func(e measure.Event, frame, frames int) bool {
		return e.Frame+e.Frames >= frame-slack && e.Frame <= frame+frames+slack
	}
	f.places += len(places)
	for _, e := range events {
		i := slices.IndexFunc(places, func(p fault.Place) bool { return meets(e, p.Frame, p.Frames) })
		switch {
		case i >= 0:
			f.found++
			f.off = append(f.off, e.SizeDB-places[i].SizeDB)
		case !slices.ContainsFunc(clean, func(c measure.Event) bool { return meets(e, c.Frame, c.Frames) }):
			f.strays++
		}
	}
}

// check wants a share of the places found, nothing else, and their sizes: the
// middle one, and nine of ten.
func (f *finding) check(t *testing.T, what string, share, middleDB, mostDB float64) {
	t.Helper()
	if f.places == 0 || len(f.off) == 0 {
		t.Fatalf("%s: %d places, %d found", what, f.places, f.found)
	}
	slices.Sort(f.off)
	middle := f.off[len(f.off)/2]
	for i, db := range f.off {
		f.off[i] = math.Abs(db)
	}
	slices.Sort(f.off)
	most := f.off[int(0.9*float64(len(f.off)-1))]
	t.Logf("%s: %d of %d places found, %d besides; size %+.1f dB off in the middle, nine of ten within %.1f dB", what, f.found, f.places, f.strays, middle, most)
	if float64(f.found) < share*float64(f.places) || f.strays > 0 || math.Abs(middle) > middleDB || most > mostDB {
		t.Errorf("%s: want %.0f %% found, none besides, sizes within %g and %g dB", what, 100*share, middleDB, mostDB)
	}
}

// On five voices: plosives are found where they were put, at their size, and
// none on the clean side.
func TestPlosivesAreFound(t *testing.T) {
	for _, levelDB := range []float64{-6, 3, 12} {
		var f finding
		for _, m := range voices(t) {
			if clean := measure.PlosivesOf(m.frames, m.rateHz); len(clean) > 0 {
				t.Errorf("%s, untouched: %v", m.name, clean)
			}
			buf, places := m.looped(t, fault.Plosive, dsp.Setting{"levelDB": levelDB})
			if len(places) < 4 {
				t.Errorf("%s: only %d plosives", m.name, len(places))
			}
			f.add(places, measure.PlosivesOf(buf, m.rateHz), nil, 0)
		}
		f.check(t, fmt.Sprintf("plosives of %g dB", levelDB), 0.9, 1.5, 3)
	}
}

// On five voices: the level of sibilants against the voice rises by what was
// set, on the sibilants that were there.
func TestSibilanceIsFound(t *testing.T) {
	for _, m := range voices(t) {
		clean := measure.SibilanceOf(m.frames, m.rateHz)
		if len(clean.Sibilants) < 3 {
			t.Errorf("%s has only %d sibilants", m.name, len(clean.Sibilants))
		}
		for _, gainDB := range []float64{3, 6, 12} {
			buf, places := m.looped(t, fault.Sibilance, dsp.Setting{"gainDB": gainDB})
			got := measure.SibilanceOf(buf, m.rateHz).LevelDB - clean.LevelDB
			near(t, fmt.Sprintf("%s, raised by %g dB", m.name, gainDB), got, gainDB, 0.4+0.12*gainDB)
			var f finding
			f.add(places, clean.Sibilants, nil, 0)
			if f.strays > 0 {
				t.Errorf("%s: %d of %d sibilants were left alone", m.name, f.strays, len(clean.Sibilants))
			}
		}
	}
}

// What the scores of the demo songs call a sibilant is raised, and little else.
func TestSibilantsAreThoseOfTheWords(t *testing.T) {
	said, raised, right, places := 0, 0, 0, 0
	voices(t)
	for _, vox := range leads {
		_, found := vox.looped(t, fault.Sibilance, dsp.Setting{"gainDB": 6})
		for _, c := range vox.consonants {
			if c.Kind != demo.Sibilant {
				continue
			}
			said++
			if slices.ContainsFunc(found, func(p fault.Place) bool { return p.Frame < c.To && p.Frame+p.Frames > c.From }) {
				raised++
			}
		}
		for _, p := range found {
			places++
			// f, t and k may hiss too: what is wrong is a vowel.
			if slices.ContainsFunc(vox.consonants, func(c demo.Consonant) bool { return p.Frame < c.To+480 && p.Frame+p.Frames > c.From-480 }) {
				right++
			}
		}
	}
	t.Logf("%d of %d sibilants raised; %d of %d places on a consonant", raised, said, right, places)
	if said < 10 || float64(raised) < 0.8*float64(said) || float64(right) < 0.8*float64(places) {
		t.Error("too few are right")
	}
}

// On five voices: breaths are found in the pauses where they were put, and none
// on the clean side.
func TestBreathsAreFound(t *testing.T) {
	for _, levelDB := range []float64{-24, -18, -12} {
		var f finding
		for _, m := range voices(t) {
			if clean := measure.BreathsOf(m.frames, m.rateHz); len(clean) > 0 {
				t.Errorf("%s, untouched: %v", m.name, clean)
			}
			buf, places := m.looped(t, fault.Breath, dsp.Setting{"levelDB": levelDB})
			if len(places) == 0 {
				t.Errorf("%s: no breath", m.name)
			}
			f.add(places, measure.BreathsOf(buf, m.rateHz), nil, 0)
		}
		f.check(t, fmt.Sprintf("breaths of %g dB", levelDB), 0.75, 2, 3.5)
	}
}

// On five voices: mouth clicks are found where they were put. A voice has such
// clicks by nature; those of the clean side do not count.
func TestMouthClicksAreFound(t *testing.T) {
	natural := 0
	var loud, soft finding
	for _, m := range voices(t) {
		clean := measure.MouthClicksOf(m.frames, m.rateHz)
		natural += len(clean)
		buf, places := m.looped(t, fault.MouthClicks, dsp.Setting{"perS": 3, "levelDB": -12})
		loud.add(places, measure.MouthClicksOf(buf, m.rateHz), clean, 240)
		buf, places = m.looped(t, fault.MouthClicks, dsp.Setting{"perS": 3, "levelDB": -20})
		soft.add(places, measure.MouthClicksOf(buf, m.rateHz), clean, 240)
	}
	t.Logf("by nature: %d", natural)
	loud.check(t, "mouth clicks of -12 dB", 0.85, 2.5, 5)
	soft.check(t, "mouth clicks of -20 dB", 0.5, 3, 8)
}

// Where a fault does not say that it acts, the sound is as it was, to the bit.
func TestVoiceFaultsStayInTheirPlaces(t *testing.T) {
	for _, c := range []struct {
		spec dsp.Spec
		set  dsp.Setting
	}{
		{fault.Plosive, dsp.Setting{"levelDB": 6}}, {fault.Sibilance, dsp.Setting{"gainDB": 12}},
		{fault.Breath, dsp.Setting{"levelDB": -12}}, {fault.MouthClicks, dsp.Setting{"perS": 5}},
	} {
		m := syllables(t)
		p, err := c.spec.New(m.rateHz, c.set)
		if err != nil {
			t.Fatal(err)
		}
		late := dsp.DelayFrames(p)
		buf := append(append([]dsp.Frame(nil), m.frames...), make([]dsp.Frame, late)...)
		p.Process(buf)
		free := make([]bool, len(buf))
		places := p.(fault.Reporter).Places()
		for _, place := range places {
			// The gain of a sibilant needs one more hop to come down.
			for i := place.Frame; i < min(len(buf), place.Frame+place.Frames+int(0.006*m.rateHz)); i++ {
				free[i] = true
			}
		}
		changed := 0
		for i, f := range m.frames {
			switch {
			case buf[late+i] == f:
			case free[late+i]:
				changed++
			default:
				t.Fatalf("%s: frame %d is changed outside of the places", c.spec.ID, late+i)
			}
		}
		if changed == 0 || len(places) < 2 {
			t.Errorf("%s: %d frames changed in %d places", c.spec.ID, changed, len(places))
		}
	}
}

// The contract's signal is shorter than these need: any split into blocks gives
// the same bits and the same places on a voice as well, and Reset makes as new.
func TestVoiceFaultsInBlocks(t *testing.T) {
	m := syllables(t)
	for _, c := range []struct {
		spec dsp.Spec
		set  dsp.Setting
	}{
		{fault.Plosive, dsp.Setting{"levelDB": 6, "sharePct": 70}}, {fault.Sibilance, dsp.Setting{"gainDB": 12}},
		{fault.Breath, dsp.Setting{"levelDB": -12}}, {fault.MouthClicks, dsp.Setting{"perS": 5}},
		{fault.Distance, dsp.Setting{"distanceM": 1}}, {fault.Codec, dsp.Setting{"rateKBitS": 64}},
	} {
		whole, p := m.with(t, c.spec, c.set)
		places := placesOf(p)
		p.Reset()
		r, split := rand.New(rand.NewPCG(1, 1)), slices.Clone(m.frames)
		for at := 0; at < len(split); {
			n := min(r.IntN(1500), len(split)-at)
			p.Process(split[at : at+n])
			at += n
		}
		if !slices.Equal(split, whole) || !slices.Equal(placesOf(p), places) {
			t.Errorf("%s: other blocks give another sound, or other places", c.spec.ID)
		}
	}
}

func placesOf(p dsp.Processor) []fault.Place {
	if r, ok := p.(fault.Reporter); ok {
		return r.Places()
	}
	return nil
}

// Half of the onsets pop when half are asked for; another seed, others.
func TestPlosiveShare(t *testing.T) {
	m := recording(t, "mpeg2.mp3", 0)
	count := func(set dsp.Setting) int {
		_, places := m.looped(t, fault.Plosive, set)
		return len(places)
	}
	all, half := count(dsp.Setting{"levelDB": 0}), 0
	for seed := range 8 {
		half += count(dsp.Setting{"levelDB": 0, "sharePct": 50, "seed": float64(seed)})
	}
	near(t, "half of the onsets", float64(half)/8/float64(all), 0.5, 0.1)
}
