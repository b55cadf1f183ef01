package demo

import (
	"math"
	"slices"
	"testing"
)

// Every tuned stem of every song is in tune by equal temperament from
// A4 = 440 Hz (ISO 16): each of its notes within what its score says, which is 2
// cents where it says nothing, and the mean of four or more within 2 cents or a
// third of that. A voice
// may stray by its vibrato and drift, oscillators that play together by half
// of what they are spread, a source by what stands after "off". What an
// amplifier adds lies at sums and differences of a chord's partials, so of an
// amplifier the mean alone is held.
func TestStemsAreInTune(t *testing.T) {
	looked, exact := 0, 0
	for name, m := range mustTakes(t) {
		for i, f := range m.stems {
			if len(f.keyCents) == 0 {
				continue
			}
			src := m.take.Song.score.stems[i].of
			may, mean := src.mayBeOff(), 0.0
			for key, off := range f.keyCents {
				mean += off / float64(len(f.keyCents))
				if looked++; may == inTuneCents {
					exact++
				}
				if math.Abs(off) > may && src.kind != "amp" {
					t.Errorf("%s, %s: note %d is %.1f cents off, may be %g", name, m.take.Stems[i].Name, key, off, may)
				}
			}
			if most := max(inTuneCents, may/3); len(f.keyCents) > 3 && math.Abs(mean) > most {
				t.Errorf("%s, %s: %.1f cents off in the mean of %d notes", name, m.take.Stems[i].Name, mean, len(f.keyCents))
			}
		}
	}
	if looked < 400 || exact < 130 {
		t.Errorf("%d notes were looked at, %d of them meant to be exact", looked, exact)
	}
	t.Logf("%d notes, %d of them meant to be exact", looked, exact)
}

// mayBeOff is how far a note may lie from the score, in cents.
func (src *sourceScore) mayBeOff() float64 {
	switch {
	case src.kind == "voice":
		return inTuneCents + src.voice.vibratoCents + src.voice.driftCents + src.voice.fallCents
	case src.kind == "synth" && src.synth.unison > 1:
		return inTuneCents + src.synth.detuneCents/2
	}
	return src.offCents
}

// A note is looked at from 0.1 s after its start, for 0.25 to 0.5 s; of a key
// at most mostLooks notes.
const (
	lookAfter, lookLeast, lookMost = 4800, 12000, 24000
	mostLooks                      = 3
)

// keyCents are the cents by which the notes of a stem lie off, by key: the
// median of those that could be measured.
func (st *Stem) keyCents() map[int]float64 {
	offs := map[int][]float64{}
	for _, n := range st.Notes {
		if len(offs[n.Key]) == mostLooks {
			continue
		}
		if off, ok := st.noteCents(n); ok {
			offs[n.Key] = append(offs[n.Key], off)
		}
	}
	medians := map[int]float64{}
	for key, all := range offs {
		slices.Sort(all)
		medians[key] = all[len(all)/2]
	}
	return medians
}

// noteCents is how far off the strongest of the first three partials of a note
// lies that no other note comes near to and that stays where it is.
func (st *Stem) noteCents(n Note) (off float64, ok bool) {
	from := n.From + lookAfter
	to := min(n.To, from+lookMost)
	if to-from < lookLeast {
		return 0, false
	}
	x := make([]float64, to-from)
	for i := range x {
		for _, channel := range st.PCM {
			x[i] += float64(channel[from+i])
		}
	}
	best, total := -30.0, rmsDB(x)
	for h := 1.0; h <= 3; h++ {
		hz := h * n.FreqHz()
		if hz > 3000 || st.crowded(n, hz) {
			continue
		}
		early, late := partialHz(x[:2*len(x)/3], hz), partialHz(x[len(x)/3:], hz)
		c := cents((early+late)/2, hz)
		if math.Abs(c) > 40 || math.Abs(cents(late, early)) > 2 {
			continue
		}
		if level, _ := fitTone(x, (early+late)/2); level-total > best {
			best, off, ok = level-total, c, true
		}
	}
	return off, ok
}

// crowded reports whether another note that may still ring has a partial near
// a frequency.
func (st *Stem) crowded(n Note, hz float64) bool {
	const rings = rateHz / 2
	for _, m := range st.Notes {
		if m.Key == n.Key || m.From >= n.To || m.To+rings <= n.From {
			continue
		}
		nearest := max(1, math.Round(hz/m.FreqHz())) * m.FreqHz()
		if math.Abs(nearest-hz) < max(12, 0.03*hz) {
			return true
		}
	}
	return false
}
