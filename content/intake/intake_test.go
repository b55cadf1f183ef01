package intake_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"strop/content"
	"strop/content/demo"
	"strop/content/intake"
	"strop/content/library"
	"strop/content/wav"
	"strop/dsp"
)

const rateHz = 48000

// pulses are noise without lows that begins every half second and dies away.
func pulses(seconds float64, seed uint64) []dsp.Frame {
	frames := make([]dsp.Frame, int(seconds*rateHz))
	dsp.NewPink(rateHz, seed).Fill(frames)
	before := 0.0
	for i, f := range frames {
		v := (f[0] - before) * 0.2 * math.Exp(-float64(i%(rateHz/2))/4000)
		before = f[0]
		frames[i] = dsp.Frame{v, v}
	}
	return frames
}

func writeStem(t testing.TB, dir, name string, frames []dsp.Frame, format wav.WriteFormat) string {
	t.Helper()
	path := filepath.Join(dir, name)
	f, err := os.Create(path)
	must(t, err)
	defer f.Close()
	w, err := wav.NewWriter(f, format)
	must(t, err)
	must(t, w.Write(frames))
	must(t, w.Close())
	return path
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func mono24() wav.WriteFormat {
	return wav.WriteFormat{RateHz: rateHz, Channels: 1, Sample: wav.Int24, NoDither: true}
}

func checkFolder(t *testing.T, dir string) intake.Report {
	t.Helper()
	m, err := content.OpenMultitrack(t.Context(), dir, nil)
	must(t, err)
	defer m.Close()
	last := 0.0
	r, err := intake.Check(t.Context(), m, func(share float64) {
		if share < last || share > 1 {
			t.Errorf("progress went from %g to %g", last, share)
		}
		last = share
	})
	must(t, err)
	if last < 0.99 {
		t.Errorf("progress ended at %g", last)
	}
	return r
}

func stemOf(t *testing.T, r intake.Report, name string) intake.Stem {
	t.Helper()
	i := slices.IndexFunc(r.Stems, func(s intake.Stem) bool { return s.Name == name })
	if i < 0 {
		t.Fatalf("there is no stem %s in the report", name)
	}
	return r.Stems[i]
}

func says(t *testing.T, s intake.Stem, texts ...string) {
	t.Helper()
	for _, text := range texts {
		if !strings.Contains(strings.Join(s.Notes, " "), text) {
			t.Errorf("%s: %q does not say %q", s.Name, s.Notes, text)
		}
	}
}

// Faults that were put into stems on purpose come back with the size they were
// put in with; stems without them have none.
func TestFaultsOfKnownSize(t *testing.T) {
	dir := t.TempDir()
	clean := pulses(26, 1)
	writeStem(t, dir, "Kick.wav", clean, mono24())

	hum := pulses(26, 2)
	for i := range hum {
		w := 2 * math.Pi * 50 * float64(i) / rateHz
		h := 0.004*math.Sin(w) + 0.002*math.Sin(2*w+1) + 0.002*math.Sin(3*w+2) + 0.001*math.Sin(5*w)
		hum[i] = dsp.Frame{hum[i][0] + h + 0.01, hum[i][0] + h + 0.01}
	}
	writeStem(t, dir, "Bass.wav", hum, mono24())

	clipped := pulses(26, 3)
	runs := 0
	for i := range clipped {
		v := clipped[i][0] * 12
		if math.Abs(v) > 0.7 {
			v = math.Copysign(0.7, v)
		}
		clipped[i] = dsp.Frame{v, v}
		if i >= 3 && math.Abs(v) == 0.7 && clipped[i-1][0] == v && clipped[i-2][0] == v && clipped[i-3][0] != v {
			runs++
		}
	}
	writeStem(t, dir, "Guitar.wav", clipped, mono24())

	clicks := make([]dsp.Frame, 26*rateHz) // a steady sound, in which a click has nothing to hide behind
	dsp.NewPink(rateHz, 4).Fill(clicks)
	for i := range clicks {
		clicks[i] = dsp.Frame{0.05 * clicks[i][0], 0.05 * clicks[i][0]}
	}
	for _, at := range []float64{5, 19.9999, 20.0003, 24.5} {
		clicks[int(at*rateHz)] = dsp.Frame{0.5, 0.5}
	}
	for i := int(12 * rateHz); i < int(12.02*rateHz); i++ {
		clicks[i] = dsp.Frame{}
	}
	writeStem(t, dir, "Keys.wav", clicks, mono24())
	writeStem(t, dir, "Choir.wav", make([]dsp.Frame, 26*rateHz), mono24())

	r := checkFolder(t, dir)
	if k := stemOf(t, r, "Kick"); k.Clicks.Count+k.Dropouts.Count+k.Clipped.Count != 0 || k.MainsHz != 0 || k.DCDBFS > -70 || k.Silent() {
		t.Errorf("a clean stem: %+v", k)
	}
	b := stemOf(t, r, "Bass")
	wantHumDB := 10 * math.Log10(0.004*0.004+2*0.002*0.002+0.001*0.001) // a full-scale sine is 0 dBFS: AES17
	if math.Abs(b.MainsHz-50) > 0.02 || math.Abs(float64(b.MainsDBFS)-wantHumDB) > 0.5 {
		t.Errorf("hum of 50 Hz at %.1f dBFS is told as %.2f Hz, %.1f dBFS", wantHumDB, b.MainsHz, float64(b.MainsDBFS))
	}
	if math.Abs(float64(b.DCDBFS)+40) > 0.2 {
		t.Errorf("an offset of 1 %% is told as %.2f dBFS", float64(b.DCDBFS))
	}
	says(t, b, "There is hum from the mains at 50.0", "DC offset of 1 % of full scale")
	g := stemOf(t, r, "Guitar")
	if math.Abs(float64(g.RailDBFS)-20*math.Log10(0.7)) > 0.01 || math.Abs(float64(g.Clipped.Count-runs)) > 0.1*float64(runs) {
		t.Errorf("clipped in %d places at %.2f dBFS, want %d at −3.10", g.Clipped.Count, float64(g.RailDBFS), runs)
	}
	says(t, g, "It is clipped at −3.1 dBFS")
	k := stemOf(t, r, "Keys")
	if want := []float64{5, 20, 24.5}; k.Clicks.Count < 3 || k.Clicks.Count > 4 || math.Abs(k.Clicks.AtS[0]-want[0]) > 0.001 || math.Abs(k.Clicks.AtS[len(k.Clicks.AtS)-1]-want[2]) > 0.001 {
		t.Errorf("clicks at %v, want %v", k.Clicks.AtS, want)
	}
	if k.Dropouts.Count != 1 || math.Abs(k.Dropouts.AtS[0]-12) > 0.002 {
		t.Errorf("dropouts: %+v", k.Dropouts)
	}
	c := stemOf(t, r, "Choir")
	if !c.Silent() || c.EmptyPct != 100 {
		t.Errorf("silence is told as %+v", c)
	}
	says(t, c, "silent from end to end")
	if !slices.Contains(r.Notes, "1 of 5 stems are silent.") {
		t.Errorf("of the whole: %q", r.Notes)
	}
}

// Peak, offset and depth are those that SoX tells of the same file.
func TestAgainstSoX(t *testing.T) {
	if _, err := exec.LookPath("sox"); err != nil {
		t.Skip("the program sox is not there")
	}
	dir := t.TempDir()
	frames := pulses(21, 7)
	for i := range frames {
		frames[i][0] = math.Round(frames[i][0]*(1<<15))/(1<<15) + 1.0/(1<<7)
		frames[i][1] = frames[i][0]
	}
	path := writeStem(t, dir, "Snare.wav", frames, mono24()) // rounded to 16 bits above
	s := stemOf(t, checkFolder(t, dir), "Snare")
	sox := soxStats(t, path)
	for name, ours := range map[string]float64{"Pk lev dB": float64(s.SamplePeakDBFS), "DC offset": math.Pow(10, float64(s.DCDBFS)/20)} {
		theirs, err := strconv.ParseFloat(sox[name], 64)
		must(t, err)
		if math.Abs(ours-theirs) > 0.006 {
			t.Errorf("%s: %g, SoX says %g", name, ours, theirs)
		}
	}
	if _, used, _ := strings.Cut(sox["Bit-depth"], "/"); strconv.Itoa(s.BitsUsed) != used || used != "16" || s.Bits != 24 {
		t.Errorf("depth %d in %d, SoX says %s", s.BitsUsed, s.Bits, sox["Bit-depth"])
	}
	says(t, s, "Its 24-bit samples hold 16 bits.")
}

// soxStats is the table of the effect "stats".
func soxStats(t *testing.T, path string) map[string]string {
	t.Helper()
	out, err := exec.Command("sox", path, "-n", "stats").CombinedOutput()
	must(t, err)
	stats := map[string]string{}
	for line := range strings.Lines(string(out)) {
		if len(line) > 10 {
			stats[strings.TrimSpace(line[:10])] = strings.TrimSpace(line[10:])
		}
	}
	return stats
}

// Of stems that hold the same, and of two microphones a known way apart, the
// relation is told; strangers are not taken for relatives.
func TestRelations(t *testing.T) {
	dir := t.TempDir()
	top, other := pulses(16, 5), pulses(16, 6)
	bottom, copied := make([]dsp.Frame, len(top)), make([]dsp.Frame, len(top))
	const late = 70 // frames: 0.5 m
	for i := range top {
		copied[i] = dsp.Frame{-0.5 * top[i][0], -0.5 * top[i][0]}
		if i >= late {
			v := -0.8*top[i-late][0] + 0.05*other[i][0]
			bottom[i] = dsp.Frame{v, v}
		}
	}
	writeStem(t, dir, "Snare Top.wav", top, mono24())
	writeStem(t, dir, "Snare Bottom.wav", bottom, mono24())
	writeStem(t, dir, "Piano.wav", other, mono24())
	writeStem(t, dir, "Piano again.wav", other, mono24())
	writeStem(t, dir, "Gong.wav", copied, mono24())
	writeStem(t, dir, "Violin.wav", other[:10*rateHz], wav.WriteFormat{RateHz: rateHz, Channels: 2, Sample: wav.Float32})
	r := checkFolder(t, dir)
	i := slices.IndexFunc(r.Pairs, func(p intake.Pair) bool { return strings.HasPrefix(p.Other, "Snare") })
	if i < 0 {
		t.Fatalf("the pair was not found: %+v", r.Pairs)
	}
	p := r.Pairs[i]
	wantMS, sign := 1000.0*late/rateHz, 1.0
	if p.First == "Snare Bottom" {
		sign = -1
	}
	if !p.Found() || math.Abs(sign*p.DelayMS-wantMS) > 0.005 || !p.Inverted || math.Abs(sign*p.DistanceCM-50) > 0.3 {
		t.Errorf("%+v, want %.3f ms, inverted", p, wantMS)
	}
	if !strings.Contains(p.Text(), "opposite polarity") {
		t.Error(p.Text())
	}
	exact, scaled := false, false
	for _, a := range r.Alike {
		names := a.First + "|" + a.Other
		switch {
		case strings.Contains(names, "Piano again") && strings.Contains(names, "Piano|"), names == "Piano again|Piano":
			exact = a.Exact
		case strings.Contains(names, "Gong") && strings.Contains(names, "Snare Top"):
			scaled = a.Inverted && math.Abs(math.Abs(a.GainDB)-6.02) < 0.05 && !a.Exact
		case strings.Contains(names, "Bottom"), strings.Contains(names, "Gong"):
			t.Errorf("strangers: %+v", a)
		}
	}
	if !exact || !scaled {
		t.Errorf("alike: %+v", r.Alike)
	}
	says(t, stemOf(t, r, "Violin"), "It lasts 0:10.00; the longest stem lasts 0:16.00.", "Both channels hold the same.")
}

// A saw-tooth that is 18 cents sharp of A = 440 Hz is told so, and one that
// wavers by 20 cents about that as spread: 20/√2 of a sine.
func TestTuning(t *testing.T) {
	for _, waver := range []float64{0, 20} {
		dir := t.TempDir()
		frames := make([]dsp.Frame, 12*rateHz)
		phase := 0.0
		for i := range frames {
			s := float64(i) / rateHz
			note := []float64{45, 48, 52, 50}[int(s)%4]
			cents := 18 + waver*math.Sin(2*math.Pi*0.5*s)
			phase += 440 * math.Exp2((note-69)/12+cents/1200) / rateHz
			v := 0.0
			for k := 1.0; k <= 12; k++ {
				v += 0.2 * math.Sin(2*math.Pi*k*phase) / k
			}
			frames[i] = dsp.Frame{v, v}
		}
		writeStem(t, dir, "Bass.wav", frames, mono24())
		got := stemOf(t, checkFolder(t, dir), "Bass").Tuning
		if got == nil || math.Abs(got.MeanCents-18) > 1.5 || math.Abs(got.SpreadCents-waver/math.Sqrt2) > 2.5 || math.Abs(got.A4Hz-444.6) > 0.5 {
			t.Errorf("18 cents sharp, wavering by %g, is told as %+v", waver, got)
		}
	}
}

// Strokes that are late against the drums by a known time are told so.
func TestTiming(t *testing.T) {
	dir := t.TempDir()
	strokes := func(lateS, looseS float64, seed uint64) []dsp.Frame {
		frames := make([]dsp.Frame, 22*rateHz)
		noise := make([]dsp.Frame, len(frames))
		dsp.NewPink(rateHz, seed).Fill(noise)
		for n := range 42 {
			at := int((0.5*float64(n) + 0.3 + lateS + looseS*float64(n%3-1)) * rateHz)
			for i := at; i < at+rateHz/4; i++ {
				v := 0.3 * math.Exp(-float64(i-at)/3000) * noise[i][0]
				frames[i] = dsp.Frame{frames[i][0] + v, frames[i][1] + v}
			}
		}
		return frames
	}
	writeStem(t, dir, "Kick.wav", strokes(0, 0, 1), mono24())
	writeStem(t, dir, "Perc.wav", strokes(0.012, 0, 2), mono24())
	writeStem(t, dir, "Guitar.wav", strokes(-0.005, 0.006, 3), mono24())
	r := checkFolder(t, dir)
	if stemOf(t, r, "Kick").Timing != nil {
		t.Error("the drums are compared with themselves")
	}
	for name, want := range map[string][2]float64{"Perc": {12, 0}, "Guitar": {-5, 6 * 1.4826}} {
		got := stemOf(t, r, name).Timing
		if got == nil || got.Against != "drums" || math.Abs(got.MedianMS-want[0]) > 2 || math.Abs(got.SpreadMS-want[1]) > 3 || got.Onsets < 36 {
			t.Errorf("%s: %+v, want %v ms", name, got, want)
		}
	}
}

// part is some stems of a song, and its beginning.
type part struct {
	of    *content.Multitrack
	stems []int
	sheet content.Sheet
}

func newPart(of *content.Multitrack, seconds float64, names ...string) *part {
	p := &part{of: of, sheet: of.Sheet()}
	p.sheet.Frames = int64(seconds * p.sheet.RateHz)
	all := p.sheet.Stems
	p.sheet.Stems, p.sheet.Faders = nil, nil
	for i, s := range all {
		if slices.Contains(names, s.Name) {
			p.stems, p.sheet.Stems, p.sheet.Faders = append(p.stems, i), append(p.sheet.Stems, s), append(p.sheet.Faders, content.Fader{})
		}
	}
	return p
}

func (p *part) Sheet() content.Sheet { return p.sheet }

func (p *part) Prepare(ctx context.Context, _ func(float64)) (content.Sheet, error) {
	return p.sheet, p.of.Ready(ctx)
}

func (p *part) Read(ctx context.Context, stem int, dst []dsp.Frame, start int64) error {
	frames, err := p.of.Region(ctx, p.stems[stem], start, len(dst))
	copy(dst, frames)
	return err
}

func (p *part) Close() error { return p.of.Close() }

// The microphones of a demo song lie as the score of its session says, and its
// bass is in tune and in time: what the renderer was told is the outside truth.
func TestDemoSession(t *testing.T) {
	song, err := demo.FindSong("lanterns")
	must(t, err)
	whole, err := library.OpenDemo(t.Context(), song, song.Seed, demo.Cache{Dir: t.TempDir(), MaxBytes: 1 << 28}, nil)
	must(t, err)
	m, err := content.NewMultitrack(t.Context(), newPart(whole, 14, "EP DI", "EP Speaker", "Nylon Neck", "Nylon Bridge", "Tabla High", "Tabla Low", "Bass Pickup"), nil)
	must(t, err)
	defer m.Close()
	r, err := intake.Check(t.Context(), m, nil)
	must(t, err)
	byName := map[string]content.Stem{}
	for _, s := range m.Sheet().Stems {
		byName[s.Name] = s
	}
	if len(r.Pairs) != 3 {
		t.Errorf("%d pairs", len(r.Pairs))
	}
	for _, p := range r.Pairs {
		a, b := byName[p.First], byName[p.Other]
		want := 100 * (b.DistanceM - a.DistanceM)
		if !p.Found() || p.Inverted || math.Abs(p.DistanceCM-want) > 2 {
			t.Errorf("%s: want %.0f cm, the same polarity", p.Text(), want)
		}
	}
	for _, s := range r.Stems {
		if s.Clicks.Count > 0 || s.DCDBFS > -60 || s.Clipped.Count+s.Dropouts.Count > 0 || s.TruePeakDBTP > 0 || s.Silent() {
			t.Errorf("%s: %v", s.Name, s.Notes)
		}
	}
	if got := stemOf(t, r, "Bass Pickup"); got.Tuning == nil || math.Abs(got.Tuning.MeanCents) > 4 || got.Tuning.SpreadCents > 15 ||
		got.Timing == nil || got.Timing.Against != "beats" || math.Abs(got.Timing.MedianMS) > 10 {
		t.Errorf("bass: %+v %+v", got.Tuning, got.Timing)
	}
}

// Two stems of a pair that have nothing in common have no delay, not any.
func TestStrangersHaveNoDelay(t *testing.T) {
	dir := t.TempDir()
	for i, name := range []string{"Room L.wav", "Room R.wav"} {
		frames := make([]dsp.Frame, 15*rateHz)
		dsp.NewPink(rateHz, uint64(i+5)).Fill(frames)
		for k := range frames {
			frames[k] = dsp.Frame{0.1 * frames[k][0], 0.1 * frames[k][0]}
		}
		writeStem(t, dir, name, frames, mono24())
	}
	r := checkFolder(t, dir)
	if len(r.Pairs) != 1 || r.Pairs[0].Found() || r.Pairs[0].DelayMS != 0 || r.Pairs[0].DistanceCM != 0 || r.Pairs[0].Inverted {
		t.Errorf("%+v", r.Pairs)
	}
}

// A check that is given up ends.
func TestCancel(t *testing.T) {
	dir := t.TempDir()
	writeStem(t, dir, "Kick.wav", pulses(40, 1), mono24())
	m, err := content.OpenMultitrack(t.Context(), dir, nil)
	must(t, err)
	defer m.Close()
	must(t, m.Ready(t.Context()))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := intake.Check(ctx, m, nil); err == nil {
		t.Error("it went on")
	}
}

// The report can be read by machines: silence is null, lists are lists.
func TestJSON(t *testing.T) {
	dir := t.TempDir()
	writeStem(t, dir, "Kick.wav", make([]dsp.Frame, rateHz), mono24())
	writeStem(t, dir, "Snare.wav", pulses(1, 1), mono24())
	text, err := json.Marshal(checkFolder(t, dir))
	must(t, err)
	if strings.Contains(string(text), `"notes":null`) {
		t.Errorf("notes are null:\n%s", text)
	}
	for _, want := range []string{`"truePeakDBTP":null`, `"pairs":[]`, `"alike":[]`, `"tuning":null`, `"silentPct":100`} {
		if !strings.Contains(string(text), want) {
			t.Errorf("it lacks %s:\n%s", want, text)
		}
	}
}
