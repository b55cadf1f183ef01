package content_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"strop/content"
	"strop/content/pcm/pcmtest"
	"strop/content/resample"
	"strop/content/wav"
	"strop/dsp"
	"strop/dsp/measure"
)

// writeWAV writes frames as a file of 32-bit floats.
func writeWAV(tb testing.TB, path string, frames []dsp.Frame, rateHz float64, channels int) {
	tb.Helper()
	file, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	w, err := wav.NewWriter(file, wav.WriteFormat{RateHz: rateHz, Channels: channels, Sample: wav.Float32})
	if err == nil {
		if channels == 1 {
			frames = mono(frames)
		}
		err = errors.Join(w.Write(frames), w.Close())
	}
	if err != nil {
		tb.Fatal(err)
	}
}

// mono is frames with the left channel on both.
func mono(frames []dsp.Frame) []dsp.Frame {
	frames = slices.Clone(frames)
	for i := range frames {
		frames[i][1] = frames[i][0]
	}
	return frames
}

func mustOpen(tb testing.TB, path string) *content.Multitrack {
	tb.Helper()
	m, err := content.OpenMultitrack(tb.Context(), path, nil)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { m.Close() })
	if err := m.Ready(tb.Context()); err != nil {
		tb.Fatal(err)
	}
	return m
}

// whole is a file decoded from its start to its end.
func whole(tb testing.TB, path string) []dsp.Frame {
	tb.Helper()
	file, err := content.Open(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	frames, err := pcmtest.All(file, math.MaxInt)
	if err != nil {
		tb.Fatal(err)
	}
	return frames
}

// Whatever other programs wrote, in any format and rate, is read from any frame
// on as it is when it is read from its start; at another rate, as the whole of
// it converted.
func TestRegionsOfWhatOthersWrote(t *testing.T) {
	dir := t.TempDir()
	source := filepath.Join(t.TempDir(), "source.wav")
	writeWAV(t, source, pcmtest.Music(5*48000, 48000), 48000, 2)
	for name, command := range map[string]string{
		"16.wav":     "sox SOURCE -b 16 OUT",
		"24.wav":     "ffmpeg -v error -i SOURCE -c:a pcm_s24le OUT",
		"mono24.wav": "sox SOURCE -b 24 -c 1 OUT",
		"float.wav":  "ffmpeg -v error -i SOURCE -c:a pcm_f32le OUT",
		"big.aiff":   "ffmpeg -v error -i SOURCE -c:a pcm_s24be -f aiff OUT",
		"a.flac":     "ffmpeg -v error -i SOURCE -sample_fmt s16 OUT",
		"b.flac":     "sox SOURCE -b 24 -C 8 OUT",
		"c.flac":     "ffmpeg -v error -i SOURCE -ac 1 -frame_size 1152 -sample_fmt s32 OUT",
		"44.wav":     "sox SOURCE -b 24 OUT rate -v 44100",
		"96.flac":    "sox SOURCE -b 24 OUT rate -v 96000",
		"32.wav":     "sox SOURCE -b 16 OUT rate -v 32000",
		"v.ogg":      "ffmpeg -v error -i SOURCE -c:a libvorbis OUT",
		"l.mp3":      "ffmpeg -v error -i SOURCE -c:a libmp3lame OUT",
		"o.opus":     "ffmpeg -v error -i SOURCE -c:a libopus OUT",
		"m.m4a":      "ffmpeg -v error -i SOURCE -c:a aac OUT",
	} {
		words := strings.Fields(strings.NewReplacer("SOURCE", source, "OUT", filepath.Join(dir, name)).Replace(command))
		pcmtest.Run(t, nil, words[0], words[1:]...)
	}
	m := mustOpen(t, dir)
	sheet := m.Sheet()
	if sheet.RateHz != 48000 || len(sheet.Stems) != 15 || len(sheet.Warnings) != 0 {
		t.Fatalf("%d stems at %g Hz, warnings %q", len(sheet.Stems), sheet.RateHz, sheet.Warnings)
	}
	r := rand.New(rand.NewPCG(1, 2))
	for i, stem := range sheet.Stems {
		want, err := resample.Frames(whole(t, stem.Path), stem.RateHz, 48000)
		if err != nil {
			t.Fatal(err)
		}
		for range 12 {
			start, n := r.IntN(len(want)), 1+r.IntN(20000)
			got, err := m.Region(t.Context(), i, int64(start), n)
			if err != nil {
				t.Fatalf("%s: %v", stem.Name, err)
			}
			if at := firstDifference(got, want[start:]); at >= 0 {
				t.Fatalf("%s: frame %d of %d from %d on differs: %v", stem.Name, at, n, start, got[at])
			}
		}
	}
}

// firstDifference is where got departs from want, which goes on as silence; −1
// where it does not. What was decoded to disk is kept in 32-bit floats.
func firstDifference(got, want []dsp.Frame) int {
	for i, f := range got {
		var w dsp.Frame
		if i < len(want) {
			w = want[i]
		}
		if math.Abs(f[0]-w[0]) > 1e-7 || math.Abs(f[1]-w[1]) > 1e-7 {
			return i
		}
	}
	return -1
}

// A long FLAC file without seek points, constant and variable, is found in at
// any place.
func TestRegionsOfALongFLAC(t *testing.T) {
	dir := t.TempDir()
	source := filepath.Join(dir, "source.wav")
	music := pcmtest.Music(60*44100, 44100)
	for i := range music[:20*44100] { // compresses to nothing: the average size misleads
		music[i] = dsp.Frame{}
	}
	writeWAV(t, source, music, 44100, 2)
	pcmtest.Run(t, nil, "flac", "--silent", "--no-seektable", "-o", filepath.Join(dir, "a.flac"), "--force", to16(t, source))
	m := mustOpen(t, filepath.Join(dir))
	i := slices.IndexFunc(m.Sheet().Stems, func(s content.Stem) bool { return s.Name == "a" })
	want := whole(t, m.Sheet().Stems[i].Path)
	r := rand.New(rand.NewPCG(3, 4))
	for range 40 {
		start := r.IntN(len(want))
		got, err := m.Region(t.Context(), i, int64(start), 3000)
		if err != nil {
			t.Fatal(err)
		}
		if at := firstDifference(got, want[start:]); at >= 0 {
			t.Fatalf("frame %d from %d on differs", at, start)
		}
	}
}

func to16(t *testing.T, path string) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "sixteen.wav")
	pcmtest.Run(t, nil, "sox", path, "-b", "16", out)
	return out
}

// The mix is the sum of the stems through their faders: gain, pan of constant
// power (3 dB down in the middle: Eargle, Handbook of Recording Engineering,
// from memory), polarity, mute.
func TestMixIsTheSum(t *testing.T) {
	dir := t.TempDir()
	a, b := pcmtest.Music(8*48000, 48000), mono(pcmtest.Music(6*48000, 48000))
	writeWAV(t, filepath.Join(dir, "Keys.wav"), a, 48000, 2)
	writeWAV(t, filepath.Join(dir, "Bass.wav"), b, 48000, 1)
	writeWAV(t, filepath.Join(dir, "Click.wav"), b, 48000, 1)
	m := mustOpen(t, dir)
	sheet := m.Sheet()
	if names := fmt.Sprint(sheet.Stems[0].Name, sheet.Stems[1].Name, sheet.Stems[2].Name); names != "BassClickKeys" {
		t.Fatal(names)
	}
	if !sheet.Faders[1].Muted || sheet.Faders[0].Muted {
		t.Errorf("the click must be muted, the bass not: %+v", sheet.Faders)
	}
	other, err := m.WithFaders(t.Context(), []content.Fader{{GainDB: -6, Pan: -1}, {Muted: true}, {GainDB: 0, Inverted: true}})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(m.Close(), other.Mix().Wait(t.Context()), other.Mix().Err()); err != nil {
		t.Fatal(err)
	}
	got := make([]dsp.Frame, 8*48000)
	if n := other.Mix().Frames(got, 0); n != len(got) {
		t.Fatalf("%d frames", n)
	}
	for i, f := range got {
		want := dsp.Frame{-a[i][0], -a[i][1]}
		if i < len(b) {
			want[0] += math.Sqrt2 * math.Pow(10, -6.0/20) * b[i][0]
		}
		if math.Abs(f[0]-want[0])+math.Abs(f[1]-want[1]) > 1e-6 {
			t.Fatalf("frame %d is %v, not %v", i, f, want)
		}
	}
	if err := other.Close(); err != nil {
		t.Fatal(err)
	}
}

// The rough balance, measured by ffmpeg's EBU R 128 meter stem by stem: each has
// the loudness of its role against the lead vocal, although the faders were set
// from a tenth of it.
func TestBalanceAgainstAnotherMeter(t *testing.T) {
	dir := t.TempDir()
	r := rand.New(rand.NewPCG(5, 6))
	for name, level := range map[string]float64{"Lead Vox": 0.02, "Bass": 0.5, "Pad": 0.003, "Kick": 0.3} {
		frames := make([]dsp.Frame, 60*48000)
		for i := range frames {
			if i/96000%2 == 0 || name == "Pad" { // two seconds on, two off
				v := level * (r.Float64() - 0.5)
				frames[i] = dsp.Frame{v, v}
			}
		}
		writeWAV(t, filepath.Join(dir, name+".wav"), frames, 48000, 1)
	}
	m := mustOpen(t, dir)
	want := map[content.Role]float64{content.LeadVocal: 0, content.Bass: -4, content.Synth: -8, content.Kick: -3}
	lufs := map[content.Role]float64{}
	for i, s := range m.Sheet().Stems {
		frames, err := m.InMix(t.Context(), i, 0, int(m.Sheet().Frames))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "in mix.wav")
		writeWAV(t, path, frames, 48000, 2)
		lufs[s.Role] = ebur128(t, path)
	}
	for role, level := range want {
		if diff := lufs[role] - lufs[content.LeadVocal] - level; math.Abs(diff) > 1 {
			t.Errorf("%s is %.1f LU from where it should be", role, diff)
		}
	}
}

// ebur128 is the integrated loudness of a file as ffmpeg measures it.
func ebur128(t *testing.T, path string) float64 {
	t.Helper()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("needs the program ffmpeg, which was not found")
	}
	out, err := exec.Command("ffmpeg", "-hide_banner", "-i", path, "-af", "ebur128", "-f", "null", "-").CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	_, summary, _ := strings.Cut(string(out), "Integrated loudness:")
	var lufs float64
	if _, err := fmt.Sscanf(strings.TrimSpace(summary), "I: %f LUFS", &lufs); err != nil {
		t.Fatal(err)
	}
	return lufs
}

// What a stem can show: sounds whose figures follow from how they are made.
func TestFitOfKnownSounds(t *testing.T) {
	const rateHz = 48000
	make8 := func(f func(s float64) float64) []dsp.Frame {
		frames := make([]dsp.Frame, 8*rateHz)
		for i := range frames {
			v := f(float64(i) / rateHz)
			frames[i] = dsp.Frame{v, v}
		}
		return frames
	}
	sine := func(s float64) float64 { return 0.25 * math.Sin(2*math.Pi*220*s) }
	r := rand.New(rand.NewPCG(7, 8))
	noise := func(float64) float64 { return 0.25 * r.NormFloat64() }
	// A stroke each half second, 60 dB down after 0.4 s.
	strokes := func(s float64) float64 { return noise(s) * math.Pow(10, -3*math.Mod(s, 0.5)/0.4) }
	for _, c := range []struct {
		name                                 string
		sound                                func(s float64) float64
		onsetsPerS, sustained, gaps, pitched float64
	}{
		{"sine", sine, 0, 1, 0, 1},
		{"noise", noise, 0, 1, 0, 0},
		{"strokes", strokes, 2, 0, 0.64, 0}, // 20 dB down after 0.133 s of 0.5
	} {
		f := content.FitOf(make8(c.sound), rateHz)
		for what, pair := range map[string][3]float64{
			"onsets": {f.OnsetsPerS, c.onsetsPerS, 0.15}, "sustained": {f.Sustained, c.sustained, 0.12},
			"gaps": {f.Gaps, c.gaps, 0.15}, "pitched": {f.Pitched, c.pitched, 0.05},
		} {
			if math.Abs(pair[0]-pair[1]) > pair[2] {
				t.Errorf("%s: %s is %.2f, not %.2f", c.name, what, pair[0], pair[1])
			}
		}
		if f.SideDB > -200 {
			t.Errorf("%s: mono has a side of %.1f dB", c.name, f.SideDB)
		}
	}
	// A sine has a crest of 3.01 dB, its loudness is −3.01 dB + 0.691 K-weighted
	// near 1 kHz by the definition of BS.1770; at 220 Hz the weighting is −0.6 dB.
	f := content.FitOf(make8(sine), rateHz)
	if want := measure.IntegratedLUFS(make8(sine), rateHz); f.LoudnessLUFS != want || math.Abs(f.TruePeakDBTP+12.04) > 0.05 {
		t.Errorf("sine: %.2f LUFS, %.2f dBTP", f.LoudnessLUFS, f.TruePeakDBTP)
	}
}

// A Fit of anything, silence too, survives JSON.
func TestFitIsKept(t *testing.T) {
	for name, frames := range map[string][]dsp.Frame{"music": pcmtest.Music(4*48000, 48000), "silence": make([]dsp.Frame, 96000)} {
		want := content.FitOf(frames, 48000)
		text, err := json.Marshal(want)
		if err != nil {
			t.Fatal(err)
		}
		var got content.Fit
		if err := json.Unmarshal(text, &got); err != nil || got != want {
			t.Errorf("%s: %v, %+v", name, err, got)
		}
		if name == "silence" && (!got.Silent() || !math.IsInf(got.Facts().LoudnessLUFS, -1) || !math.IsInf(got.Facts().BandsDB[3], -1)) {
			t.Errorf("silence is %+v", got)
		}
	}
}

// What was measured and decided is used when the material is opened again.
func TestKeptIsUsed(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"Gtr", "Vox"} {
		writeWAV(t, filepath.Join(dir, name+".wav"), pcmtest.Music(9*48000, 48000), 48000, 2)
	}
	m := mustOpen(t, dir)
	if _, err := m.Clip(t.Context(), 0); err != nil {
		t.Fatal(err)
	}
	fits := m.Fits()
	if len(fits) != 2 {
		t.Fatalf("%d fits", len(fits))
	}
	for i := range fits {
		fits[i].Fit.OnsetsPerS = 99 // to be recognised
	}
	asked := ""
	again, err := content.OpenMultitrack(t.Context(), dir, func(hash string) (content.Kept, error) {
		asked = hash
		return content.Kept{Fits: fits, Roles: map[string]content.Role{"Gtr": content.Keys}, Faders: map[string]content.Fader{"Vox": m.Sheet().Faders[1]}}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	clip, err := again.Clip(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	sheet := again.Sheet()
	if asked != sheet.Hash || sheet.Stems[0].Role != content.Keys || sheet.Stems[0].RoleFrom != content.FromUser {
		t.Errorf("%q was asked; the stem is %+v", asked, sheet.Stems[0])
	}
	if clip.Stems[1].Fit.OnsetsPerS != 99 {
		t.Errorf("what was kept of the stem was not used: %+v", clip.Stems[1].Fit)
	}
}

// One file, and one file in a folder, are a multitrack of one stem.
func TestOneFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "song.wav")
	writeWAV(t, path, pcmtest.Music(9*44100, 44100), 44100, 2)
	file, folder := mustOpen(t, path), mustOpen(t, dir)
	if s := file.Sheet(); len(s.Stems) != 1 || s.Stems[0].Role != content.Mix || !strings.HasPrefix(s.Hash, "sha256:") {
		t.Errorf("the file is %+v", s)
	}
	if s := folder.Sheet(); len(s.Stems) != 1 || !strings.HasPrefix(s.Hash, "stems:") {
		t.Errorf("the folder is %+v", s)
	}
	for _, m := range []*content.Multitrack{file, folder} {
		if c, err := m.Clip(t.Context(), 0); err != nil || len(c.Stems) != 1 || c.Stems[0].Fit.Silent() {
			t.Errorf("%v, %+v", err, c.Stems)
		}
		if _, err := m.Region(t.Context(), 1, 0, 10); err == nil {
			t.Error("there is a second stem")
		}
	}
}

// Close in the middle of it ends the mix and lets go of the files; nothing
// blocks.
func TestCloseEarly(t *testing.T) {
	dir := t.TempDir()
	for i := range 4 {
		writeWAV(t, filepath.Join(dir, fmt.Sprint(i, ".wav")), pcmtest.Music(20*48000, 48000), 48000, 2)
	}
	for range 5 {
		m, err := content.OpenMultitrack(t.Context(), dir, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range m.Sheet().Stems { // while it is prepared
			if s.Frames == 0 || s.Role != "" && s.RoleFrom == content.Unknown {
				t.Errorf("%+v", s)
			}
		}
		if err := m.Close(); err != nil {
			t.Fatal(err)
		}
		err = m.Mix().Wait(t.Context())
		if err == nil {
			err = m.Mix().Err()
		}
		if err != nil && !errors.Is(err, context.Canceled) && !errors.Is(err, io.EOF) {
			t.Errorf("after Close: %v", err)
		}
	}
}
