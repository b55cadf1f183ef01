package pitch_test

import (
	"context"
	"math"
	"slices"
	"sync"
	"testing"

	"strop/content/demo"
	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/measure"
	"strop/dsp/pitch"
)

// windowseat is a song of a voice and a piano whose notes are known, rendered
// once.
var windowseat = sync.OnceValues(func() (*demo.Rendered, error) {
	song, err := demo.FindSong("windowseat")
	if err != nil {
		return nil, err
	}
	return song.Render(context.Background(), song.Seed, nil)
})

// singer is the first 8 s of the voice, its notes, and the rate.
func singer(t *testing.T) ([]dsp.Frame, []demo.Note, float64) {
	t.Helper()
	r, err := windowseat()
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(r.Stems, func(st demo.Stem) bool { return st.Role == "lead vocal" })
	buf := make([]dsp.Frame, int(8*r.RateHz))
	r.Stems[i].Frames(buf, 0)
	return buf, r.Stems[i].Notes, r.RateHz
}

// noteCents is how far each note of some length lies from what is written, by
// pYIN, in the middle.
func noteCents(t *testing.T, buf []dsp.Frame, notes []demo.Note, rateHz, by float64) (cents []float64) {
	t.Helper()
	track, err := measure.PYIN(measure.Mono(buf), rateHz, measure.PitchRange{LowHz: 80, HighHz: 1200})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range notes {
		from, to := float64(n.From)/rateHz, float64(n.To)/rateHz
		if to-from < 0.2 || to > float64(len(buf))/rateHz-0.5 {
			continue
		}
		median, _, voiced := track.Within(from+0.3*(to-from), to-0.2*(to-from)).CentsFrom(n.FreqHz() * pitch.RatioOf(by))
		if voiced < 0.5 {
			median = math.NaN()
		}
		cents = append(cents, median)
	}
	return cents
}

// A singer's notes move by what was asked for, as an independent meter of pitch
// reads them, through Voice and through Shift; and the spectrum of the voice
// stays nearer to what it was where the formants are kept.
func TestShiftsOfASinger(t *testing.T) {
	buf, notes, rateHz := singer(t)
	before := noteCents(t, buf, notes, rateHz, 0)
	if len(before) < 6 {
		t.Fatalf("only %d notes to go by", len(before))
	}
	for _, by := range []float64{-300, 12, 400} {
		var timbre [2]float64
		for i, spec := range []dsp.Spec{pitch.Voice, pitch.Shift} {
			out := processed(t, spec, rateHz, dsp.Setting{"cents": by}, buf)
			var off []float64
			for i, c := range noteCents(t, out, notes, rateHz, by) {
				off = append(off, math.Abs(c-before[i]))
			}
			slices.Sort(off)
			median, most := off[len(off)/2], off[len(off)-1]
			timbre[i] = timbreDB(buf, out, rateHz)
			t.Logf("%s by %g cents: median %.2f, worst %.2f cents off; spectrum %.2f dB away", spec.ID, by, median, most, timbre[i])
			if !(median <= 2 && most <= 15) {
				t.Errorf("%s by %g cents: the median note is %.2f cents off, the worst %.2f", spec.ID, by, median, most)
			}
		}
		if math.Abs(by) > 100 && timbre[0] > 0.75*timbre[1] {
			t.Errorf("%g cents: the spectrum is %.2f dB away with formants kept, %.2f dB where they move", by, timbre[0], timbre[1])
		}
	}
}

// timbreDB is how far the third octaves from 500 Hz to 5 kHz, which hold the
// formants, lie apart, as a standard deviation.
func timbreDB(a, b []dsp.Frame, rateHz float64) float64 {
	x, y := measure.ThirdOctavesDB(a, rateHz), measure.ThirdOctavesDB(b, rateHz)
	var sum, squares, n float64
	for i := range x {
		if hz := dsp.ThirdOctaveHz(i); hz > 490 && hz < 5100 {
			d := y[i] - x[i]
			sum, squares, n = sum+d, squares+d*d, n+1
		}
	}
	return math.Sqrt(squares/n - sum/n*sum/n)
}

// Single notes are moved, and the meter of onsets finds them where
// they were told to be.
func TestMoveNotesByOnsets(t *testing.T) {
	const rateHz = noteHz
	src := notes(8)
	dst := make([]dsp.Frame, len(src))
	half := rateHz / 2
	if err := pitch.MoveNotes(dst, src, rateHz, []pitch.Move{{From: 3 * half, To: 4 * half, ShiftMS: 30}, {From: 5 * half, To: 6 * half, ShiftMS: -20}}); err != nil {
		t.Fatal(err)
	}
	grid := []float64{0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5}
	was, is := measure.OffsetsFrom(measure.Onsets(src, rateHz), grid), measure.OffsetsFrom(measure.Onsets(dst, rateHz), grid)
	if len(was.EachMS) != 8 || len(is.EachMS) != 8 {
		t.Fatalf("%d notes before, %d after", len(was.EachMS), len(is.EachMS))
	}
	for i := range 8 {
		want := map[int]float64{3: 30, 5: -20}[i]
		if got := is.EachMS[i] - was.EachMS[i]; math.Abs(got-want) > 0.5 {
			t.Errorf("note %d has moved by %.2f ms, want %g", i, got, want)
		}
	}
}

// A mix stays in time: the median onset lies within 3 ms of where it was, and
// few, which begin softly, are read elsewhere.
func TestShiftKeepsTime(t *testing.T) {
	const rateHz = 48000
	x := dsptest.Music(rateHz, 1, 4*rateHz)
	was := measure.Onsets(x, rateHz)
	for _, by := range []float64{-300, 15, 300} {
		is := measure.Onsets(processed(t, pitch.Shift, rateHz, dsp.Setting{"cents": by}, x), rateHz)
		off := measure.OffsetsFrom(was, is).EachMS
		for i := range off {
			off[i] = math.Abs(off[i])
		}
		slices.Sort(off)
		median, most := off[len(off)/2], off[7*len(off)/8]
		t.Logf("%g cents: %d onsets, then %d; median %.2f ms, seven eighths within %.2f ms", by, len(was), len(is), median, most)
		if len(was) < 30 || median > 3.5 || most > 6 {
			t.Errorf("%g cents: %d onsets, then %d; median %.2f ms, seven eighths within %.2f ms", by, len(was), len(is), median, most)
		}
	}
}
