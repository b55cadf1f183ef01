package demo

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"testing"
)

// short is a song of seconds, with a stereo stem, a microphone and a voice.
func short(t testing.TB, name string) Song {
	t.Helper()
	s := mustParse(t, tiny+`source pad synth unison 3
line Pad of pad role synth
part c
hats h h? . h!
bass c2 - c2+g2 .
sing a4/s-a - b4/t-a .
pad c4+e4 . e4 .
form c c
`)
	return Song{Name: name, Title: "Short", Seed: 3, score: s, digest: "0123456789ab"}
}

// A take from the cache is the take that was rendered, in every respect; the
// files are sound FLAC as the reference decoder reads it.
func TestCacheGivesTheSame(t *testing.T) {
	c, s := Cache{Dir: filepath.Join(t.TempDir(), "takes"), MaxBytes: 1 << 30}, short(t, "short")
	first, err := c.Render(t.Context(), s, 9, nil)
	if err != nil {
		t.Fatal(err)
	}
	called := false
	again, err := c.Render(t.Context(), s, 9, func(float64) { called = true })
	if err != nil || called {
		t.Fatalf("rendered again: %v, %v", called, err)
	}
	if !reflect.DeepEqual(first, again) {
		t.Error("the take from the cache differs")
	}
	other, err := c.Render(t.Context(), s, 10, nil)
	if err != nil || reflect.DeepEqual(first, other) {
		t.Errorf("another seed gives the same, %v", err)
	}
	if len(first.Stems) != 4 || first.Stems[3].Channels != 2 || len(first.Stems[2].Consonants) == 0 {
		t.Errorf("%d stems, %+v", len(first.Stems), first.Stems[2].Label)
	}
	if _, err := exec.LookPath("flac"); err != nil {
		t.Skip("needs flac")
	}
	for i := range first.Stems {
		if out, err := exec.Command("flac", "--test", "--silent", stemFile(c.folder(s, 9), i)).CombinedOutput(); err != nil {
			t.Errorf("the reference decoder refuses stem %d: %v %s", i, err, out)
		}
	}
}

// Damaged, short or missing files are rendered anew and replaced; a part of a
// take that a killed program left is no take.
func TestCacheHeals(t *testing.T) {
	c, s := Cache{Dir: t.TempDir(), MaxBytes: 1 << 30}, short(t, "short")
	want, err := c.Render(t.Context(), s, 3, nil)
	if err != nil {
		t.Fatal(err)
	}
	path := stemFile(c.folder(s, 3), 1)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	flipped := append([]byte(nil), data...)
	flipped[len(flipped)/2] ^= 0x40
	for name, bad := range map[string][]byte{"flipped": flipped, "short": data[:len(data)/3], "empty": nil, "text": []byte("not FLAC"), "missing": nil} {
		if err := os.WriteFile(path, bad, 0o644); err != nil {
			t.Fatal(err)
		}
		if name == "missing" {
			os.Remove(path)
		}
		got, err := c.Render(t.Context(), s, 3, nil)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: the take differs, %v", name, err)
		}
		if now, err := os.ReadFile(path); err != nil || len(now) != len(data) {
			t.Errorf("%s: it was not replaced", name)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(c.Dir, "part-*")); len(left) > 0 {
		t.Errorf("%v are left", left)
	}
}

// The cache forgets what was not used for longest, and nothing that is not its
// own; it never forgets what it just gave.
func TestCacheIsCapped(t *testing.T) {
	dir, s := t.TempDir(), short(t, "short")
	mine := filepath.Join(dir, "mine.txt")
	if err := os.WriteFile(mine, make([]byte, 1000), 0o644); err != nil {
		t.Fatal(err)
	}
	c := Cache{Dir: dir, MaxBytes: 1 << 30}
	for seed := range uint64(2) {
		if _, err := c.Render(t.Context(), s, seed, nil); err != nil {
			t.Fatal(err)
		}
	}
	one := size(c.folder(s, 0))
	if _, err := c.Render(t.Context(), s, 0, nil); err != nil { // used again
		t.Fatal(err)
	}
	c.MaxBytes = 2*one + one/2
	if _, err := c.Render(t.Context(), s, 2, nil); err != nil {
		t.Fatal(err)
	}
	for seed, want := range []bool{true, false, true} {
		if _, err := os.Stat(c.folder(s, uint64(seed))); (err == nil) != want {
			t.Errorf("seed %d kept: %v, want %v", seed, err == nil, want)
		}
	}
	c.MaxBytes = 1
	if _, err := c.Render(t.Context(), s, 4, nil); err != nil {
		t.Fatal(err)
	}
	if entries, _ := os.ReadDir(dir); len(entries) != 2 {
		t.Errorf("%d entries are left, want the text and one take", len(entries))
	}
}

// Where the folder cannot be written, the take is there all the same.
func TestCacheWithoutAFolder(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := Cache{Dir: filepath.Join(file, "takes")}.Render(t.Context(), short(t, "short"), 3, nil)
	if r == nil || err == nil {
		t.Errorf("%v, %v", r != nil, err)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if r, err := (Cache{Dir: t.TempDir()}).Render(ctx, short(t, "short"), 3, nil); r != nil || err == nil {
		t.Errorf("after the end: %v, %v", r != nil, err)
	}
}

func BenchmarkCache(b *testing.B) {
	song, err := FindSong("kettle")
	if err != nil {
		b.Fatal(err)
	}
	c := Cache{Dir: b.TempDir(), MaxBytes: 1 << 30}
	for b.Loop() {
		if _, err := c.Render(b.Context(), song, song.Seed, nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(size(c.folder(song, song.Seed)))/1e6, "MB")
}
