package cli_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"strop/content/wav"
	"strop/dsp"
	"strop/game/cli"
)

// bandFolder is a folder of three stems, and of what lies in folders besides.
func bandFolder(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "夜 bus — миx")
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	const rateHz = 44100
	for i, name := range []string{"Kick.wav", "Bass DI.wav", "Lead Vox ü.wav"} {
		frames := make([]dsp.Frame, 12*rateHz)
		dsp.NewPink(rateHz, uint64(i+1)).Fill(frames)
		for k := range frames {
			g := 0.1 * math.Exp(-float64(k%(rateHz/2))/5000)
			frames[k] = dsp.Frame{g * frames[k][0], g * frames[k][0]}
		}
		f, err := os.Create(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		w, err := wav.NewWriter(f, wav.WriteFormat{RateHz: rateHz, Channels: 1 + i%2, Sample: wav.Int24})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(frames); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		f.Close()
	}
	for name, text := range map[string]string{"letter.wav": "dear engineer,", "empty.wav": "", ".hidden.wav": "x", "notes.txt": "120 bpm"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink(dir, filepath.Join(dir, "loop.wav")); err != nil {
		t.Fatal(err)
	}
	return dir
}

type listed struct {
	Name        string
	Demo        bool
	Path        string
	Missing     bool
	DurationS   float64
	RateHz      float64
	Tags        []string
	Collections []string
	Stems       []struct {
		Name, Role string
		Channels   int
	}
}

func list(t *testing.T, dir string) (own []listed) {
	t.Helper()
	var all []listed
	if err := json.Unmarshal([]byte(must(t, dir, "", "material", "list", "--json")), &all); err != nil {
		t.Fatal(err)
	}
	for _, m := range all {
		if m.Name == "" || m.DurationS <= 0 || m.RateHz <= 0 || len(m.Stems) == 0 {
			t.Errorf("a row lacks something: %+v", m)
		}
		if !m.Demo {
			own = append(own, m)
		}
	}
	if len(all)-len(own) < 9 {
		t.Errorf("%d built-in pieces", len(all)-len(own))
	}
	return own
}

// A folder of stems goes into the library, is known again after it was renamed
// and as a copy, and is forgotten without a file being touched.
func TestMaterial(t *testing.T) {
	dir, band := t.TempDir(), bandFolder(t)
	text := must(t, dir, "", "material", "add", band)
	for _, want := range []string{"夜 bus — миx: 3 stems, 0:12, 44.1 kHz.", "letter.wav: ", "empty.wav: "} {
		if !strings.Contains(text, want) {
			t.Errorf("add does not say %q:\n%s", want, text)
		}
	}
	own := list(t, dir)
	if len(own) != 1 || own[0].RateHz != 44100 || math.Abs(own[0].DurationS-12) > 0.01 || len(own[0].Stems) != 3 {
		t.Fatalf("listed: %+v", own)
	}
	vox := own[0].Stems[2]
	if vox.Name != "Lead Vox ü" || vox.Role != "lead vocal" || vox.Channels != 1 || own[0].Stems[0].Channels != 2 {
		t.Errorf("stems: %+v", own[0].Stems)
	}
	must(t, dir, "", "material", "tag", "夜 bus — миx", "live", "loud")
	must(t, dir, "", "material", "collect", "Monday", band, "Pink noise")
	if got := list(t, dir)[0]; !slices.Equal(got.Tags, []string{"live", "loud"}) || !slices.Equal(got.Collections, []string{"Monday"}) {
		t.Errorf("labels: %+v", got)
	}

	moved := filepath.Join(filepath.Dir(band), "renamed")
	if err := os.Rename(band, moved); err != nil {
		t.Fatal(err)
	}
	if !list(t, dir)[0].Missing {
		t.Error("it is not told that the folder is gone")
	}
	text = must(t, dir, "2\nq\n", "text", "--silent", "--seed", "1", "--trials", "1", "--drill", "level-stem", "--material", "夜 bus — миx")
	if !strings.Contains(text, "renamed") {
		t.Errorf("it was not found under its new name:\n%s", text)
	}
	got := list(t, dir)
	if len(got) != 1 || got[0].Path != moved || got[0].Missing || len(got[0].Tags) != 2 {
		t.Errorf("after renaming: %+v", got)
	}
	if again := must(t, dir, "", "material", "add", moved); !strings.Contains(again, "in the library already") {
		t.Error(again)
	}
	must(t, dir, "", "material", "forget", moved)
	if own := list(t, dir); len(own) != 0 {
		t.Errorf("after it was forgotten: %+v", own)
	}
	if _, err := os.Stat(filepath.Join(moved, "Kick.wav")); err != nil {
		t.Error(err)
	}
}

// A collection is practised on in turn: what was used longest ago comes next.
func TestCollectionInTurn(t *testing.T) {
	dir := t.TempDir()
	a, b := songFile(t, "first.wav"), songFile(t, "second.wav")
	data, err := os.ReadFile(b)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)-1]++ // another song
	if err := os.WriteFile(b, data, 0o666); err != nil {
		t.Fatal(err)
	}
	must(t, dir, "", "material", "add", a, b)
	must(t, dir, "", "material", "collect", "turns", "first.wav", "second.wav")
	var heard []string
	for day := range 4 {
		var out bytes.Buffer
		at := time.Date(2026, 3, 2+day, 7, 30, 0, 0, time.UTC)
		code := cli.Main([]string{"text", "--silent", "--trials", "1", "--material", "TURNS"}, cli.Env{
			Stdin: strings.NewReader("1\nq\n"), Stdout: &out, Stderr: &out, DataDir: dir, Seed: 1, Clock: func() time.Time { return at },
		})
		if code != 0 {
			t.Fatal(out.String())
		}
		_, song, _ := strings.Cut(out.String(), "1 trials on ")
		heard = append(heard, song[:min(5, len(song))])
	}
	if heard[0] == heard[1] || heard[0] != heard[2] || heard[1] != heard[3] {
		t.Errorf("played %v", heard)
	}
}

// The check tells of each stem what an intake wants to know, as text and as
// JSON.
func TestMaterialCheck(t *testing.T) {
	dir, band := t.TempDir(), bandFolder(t)
	text := must(t, dir, "", "material", "check", band)
	for _, want := range []string{"3 stems, 0:12.00, 44100 Hz", "Lead Vox ü  lead vocal  1   44.1  24", "Bass DI: Both channels hold the same", "letter.wav: "} {
		if !strings.Contains(text, want) {
			t.Errorf("it does not say %q:\n%s", want, text)
		}
	}
	var report struct {
		DurationS float64
		Stems     []struct {
			Name         string
			Bits         int
			TruePeakDBTP float64
		}
		Pairs, Notes []any
	}
	if err := json.Unmarshal([]byte(must(t, dir, "", "material", "check", "--json", band)), &report); err != nil {
		t.Fatal(err)
	}
	if len(report.Stems) != 3 || report.Stems[0].Bits != 24 || report.Stems[0].TruePeakDBTP > -3 || report.DurationS != 12 {
		t.Errorf("%+v", report)
	}
}

// What cannot be done is one sentence.
func TestMaterialHostile(t *testing.T) {
	empty := t.TempDir()
	file := songFile(t, "song.wav")
	for _, args := range [][]string{
		{"add"}, {"add", ""}, {"add", empty}, {"add", "/dev/null"}, {"add", "/dev/zero"}, {"add", "/no/such/folder"}, {"add", "\x00"}, {"add", "--", "-x"},
		{"check"}, {"check", ""}, {"check", "no such thing"}, {"check", empty}, {"check", "/dev/zero"},
		{"forget"}, {"forget", "no such thing"}, {"forget", file}, {"forget", "Pink noise"},
		{"tag"}, {"tag", "no such thing", "x"}, {"tag", "Pink noise", ""}, {"tag", "Pink noise", "a,b"}, {"tag", "Pink noise", "a\nb"}, {"tag", "Pink noise", strings.Repeat("x", 41)},
		{"collect"}, {"collect", "x"}, {"collect", "", "Pink noise"}, {"collect", "x", "no such thing"}, {"list", "--yaml"}, {"paint"}, {},
	} {
		dir := t.TempDir()
		code, stdout, stderr := call(t, dir, "", append([]string{"material"}, args...)...)
		if code == 0 || strings.Count(stderr, "\n") != 1 || !strings.HasPrefix(stderr, "strop: ") {
			t.Errorf("%q: exit code %d, %q %q", args, code, stdout, stderr)
		}
	}
}
