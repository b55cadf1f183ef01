package content_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"strop/content"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

// short writes a stem of a few seconds.
func short(tb testing.TB, path string) {
	tb.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		tb.Fatal(err)
	}
	writeWAV(tb, path, pcmtest.Music(4*48000, 48000), 48000, 1)
}

func write(tb testing.TB, path, text string) {
	tb.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		tb.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		tb.Fatal(err)
	}
}

// What lies in a client's folder: whatever is no stem is passed over, whatever
// should be one and is not is named, and the rest opens.
func TestHostileFolder(t *testing.T) {
	dir := t.TempDir()
	short(t, filepath.Join(dir, "Bass.wav"))
	short(t, filepath.Join(dir, "Kick.WAV"))
	short(t, filepath.Join(dir, "no extension"))
	short(t, filepath.Join(dir, ".hidden.wav"))
	short(t, filepath.Join(dir, "__MACOSX", "Kick.wav"))
	short(t, filepath.Join(dir, "old", "Kick.wav"))
	write(t, filepath.Join(dir, "._Bass.wav"), "\x00\x05\x16\x07resource fork")
	write(t, filepath.Join(dir, "lyrics.wav"), "These are the words of the song.\n")
	write(t, filepath.Join(dir, "notes.txt"), "tempo 120")
	write(t, filepath.Join(dir, "cover.jpg"), "\xff\xd8\xff\xe0 JFIF")
	write(t, filepath.Join(dir, "empty.wav"), "")
	write(t, filepath.Join(dir, "head.wav"), "RIFF\x24\x00\x00\x00WAVE")
	if err := os.Mkdir(filepath.Join(dir, "folder.wav"), 0o755); err != nil {
		t.Fatal(err)
	}
	bad := []string{"lyrics.wav", "empty.wav", "head.wav"}
	if runtime.GOOS != "windows" {
		bad = append(bad, "loop.wav", "gone.wav")
		link(t, "loop.wav", filepath.Join(dir, "loop.wav"))
		link(t, "nowhere.wav", filepath.Join(dir, "gone.wav"))
		link(t, ".", filepath.Join(dir, "self"))
		link(t, filepath.Join(dir, "Bass.wav"), filepath.Join(dir, "Also Bass.wav"))
	}
	if os.Getuid() > 0 {
		bad = append(bad, "secret.wav")
		short(t, filepath.Join(dir, "secret.wav"))
		if err := os.Chmod(filepath.Join(dir, "secret.wav"), 0); err != nil {
			t.Fatal(err)
		}
	}
	m := mustOpen(t, dir)
	var names []string
	for _, s := range m.Sheet().Stems {
		names = append(names, s.Name)
	}
	want := []string{"Also Bass", "Bass", "Kick", "no extension"}
	if runtime.GOOS == "windows" {
		want = want[1:]
	}
	if !slices.Equal(names, want) {
		t.Errorf("the stems are %q, not %q", names, want)
	}
	for _, name := range bad {
		if !slices.ContainsFunc(m.Sheet().Warnings, func(w string) bool { return strings.HasPrefix(w, name+": ") }) {
			t.Errorf("%s is not in the warnings %q", name, m.Sheet().Warnings)
		}
	}
	if len(m.Sheet().Warnings) != len(bad) {
		t.Errorf("warnings: %q", m.Sheet().Warnings)
	}
	if err := m.Mix().Wait(t.Context()); err != nil {
		t.Error(err)
	}
}

func link(t *testing.T, to, from string) {
	t.Helper()
	if err := os.Symlink(to, from); err != nil {
		t.Fatal(err)
	}
}

// Names in any script, from right to left, of emoji, with quotes and line
// breaks, and as long as the file system takes.
func TestNamesOfAnyScript(t *testing.T) {
	names := []string{
		"ドラム・キック", "صوت رئيسي", "גיטרה", "🥁🎸", "Stimme (tief)", "a\nb", "\u202egnp", "\u00e9", "e\u0301tage",
		"'; DROP TABLE", "100%d%s", "…", strings.Repeat("x", 240), strings.Repeat("声", 80),
	}
	dir := t.TempDir()
	for _, name := range names {
		short(t, filepath.Join(dir, name+".wav"))
	}
	m := mustOpen(t, dir)
	var got []string
	for _, s := range m.Sheet().Stems {
		got = append(got, s.Name)
	}
	slices.Sort(names)
	slices.Sort(got)
	if !slices.Equal(got, names) {
		t.Errorf("got  %q\nwant %q", got, names)
	}
	if _, err := m.Loops().Count(t.Context()); err != nil {
		t.Error(err)
	}
}

// Folders that are no song each say so in a sentence.
func TestFoldersThatAreNoSong(t *testing.T) {
	root := t.TempDir()
	for name, c := range map[string]struct {
		make func(dir string)
		says string
	}{
		"empty": {func(dir string) {}, "there is no audio file in it"},
		"folders": {func(dir string) {
			short(t, filepath.Join(dir, "one", "a.wav"))
			short(t, filepath.Join(dir, "two", "a.wav"))
		}, "open one of them, such as one"},
		"text": {func(dir string) { write(t, filepath.Join(dir, "a.wav"), "hello") }, "a.wav: "},
	} {
		dir := filepath.Join(root, name)
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		c.make(dir)
		m, err := content.OpenMultitrack(t.Context(), dir, nil)
		if err == nil {
			m.Close()
			t.Errorf("%s opens", name)
			continue
		}
		pcmtest.CheckSentence(t, err)
		if !strings.HasPrefix(err.Error(), name+": ") || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := content.OpenMultitrack(t.Context(), filepath.Join(root, "not there"), nil); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a folder that is not there: %v", err)
	}
}

// An album is no multitrack, and stems of different lengths may not start
// together: both open, and both say so.
func TestDoubts(t *testing.T) {
	long := func(dir, name string, seconds, channels int) {
		writeWAV(t, filepath.Join(dir, name), make([]dsp.Frame, seconds*8000), 8000, channels)
	}
	album, uneven, fine := t.TempDir(), t.TempDir(), t.TempDir()
	for i, name := range []string{"Morning.wav", "The River.wav", "Again.wav"} {
		long(album, name, 100+31*i, 2)
	}
	long(uneven, "Kick.wav", 60, 1)
	long(uneven, "Vox.wav", 12, 1)
	long(fine, "Kick.wav", 60, 1)
	long(fine, "Vox.wav", 58, 1)
	for dir, says := range map[string]string{album: "separate songs", uneven: "0:12 to 1:00", fine: ""} {
		warnings := strings.Join(mustOpen(t, dir).Sheet().Warnings, "\n")
		if !strings.Contains(warnings, says) || says == "" && warnings != "" {
			t.Errorf("warnings %q, expected %q", warnings, says)
		}
	}
}

// A stem that ends before its header says is used as far as it goes, and named.
func TestTruncatedStem(t *testing.T) {
	dir := t.TempDir()
	short(t, filepath.Join(dir, "Bass.wav"))
	short(t, filepath.Join(dir, "Kick.wav"))
	path := filepath.Join(dir, "Kick.wav")
	if err := os.Truncate(path, 48000*4*2); err != nil {
		t.Fatal(err)
	}
	m := mustOpen(t, dir)
	if w := m.Sheet().Warnings; len(w) < 1 || !strings.Contains(w[0], "Kick.wav") || !strings.Contains(w[0], "ends early") {
		t.Errorf("warnings %q", w)
	}
	if n := m.Sheet().Stems[1].Frames; n < 90000 || n > 96000 {
		t.Errorf("%d frames are there", n)
	}
	if err := errors.Join(m.Mix().Wait(t.Context()), m.Mix().Err()); err != nil {
		t.Error(err)
	}
}

// A stem that shrinks or goes while it is read ends the mix there, with its
// name; what came before stays.
func TestStemThatGoesWhileItIsRead(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"Bass.wav", "Kick.wav"} {
		writeWAV(t, filepath.Join(dir, name), pcmtest.Music(30*48000, 48000), 48000, 1)
	}
	m, err := content.OpenMultitrack(t.Context(), dir, func(string) (content.Kept, error) {
		return content.Kept{}, os.Truncate(filepath.Join(dir, "Kick.wav"), 20*48000*4)
	})
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	err = errors.Join(m.Mix().Wait(t.Context()), m.Mix().Err())
	if warned := strings.Contains(strings.Join(m.Sheet().Warnings, " "), "Kick"); err == nil && !warned {
		t.Error("nothing was said")
	} else if err != nil && !strings.Contains(err.Error(), "Kick") {
		t.Errorf("the stem is not named: %v", err)
	}
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if _, err := m.Region(t.Context(), 1, 25*48000, 100); err == nil {
		t.Error("what is gone is read")
	}
}

// The identity of a folder is what is in it: not its name or place, but names
// and contents of its stems.
func TestHashSet(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "song")
	for i := range 3 {
		short(t, filepath.Join(dir, fmt.Sprint("stem ", i, ".wav")))
	}
	was := mustOpen(t, dir).Sheet().Hash
	ref := content.Reference{Path: dir, Hash: was}
	moved := filepath.Join(t.TempDir(), "elsewhere")
	if err := os.Rename(dir, moved); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(moved, "notes.txt"), "added")
	if _, _, err := ref.Open(t.Context(), dir, nil); !errors.Is(err, content.ErrMoved) {
		t.Errorf("at its old place: %v", err)
	}
	now, m, err := ref.Open(t.Context(), moved, nil)
	if err != nil || now.Path != moved {
		t.Fatalf("at its new place: %v, %+v", err, now)
	}
	m.Close()
	flip(t, filepath.Join(moved, "stem 1.wav"), 200_000)
	if _, _, err := ref.Open(t.Context(), moved, nil); !errors.Is(err, content.ErrMoved) {
		t.Errorf("with another content: %v", err)
	}
	flip(t, filepath.Join(moved, "stem 1.wav"), 200_000)
	if err := os.Rename(filepath.Join(moved, "stem 1.wav"), filepath.Join(moved, "stem 7.wav")); err != nil {
		t.Fatal(err)
	}
	if got := mustOpen(t, moved).Sheet().Hash; got == was {
		t.Error("the name of a stem does not count")
	}
}

// flip turns a bit of a file over.
func flip(t *testing.T, path string, at int64) {
	t.Helper()
	file, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var b [1]byte
	_, err = file.ReadAt(b[:], at)
	b[0] ^= 1
	if _, other := file.WriteAt(b[:], at); errors.Join(err, other) != nil {
		t.Fatal(err, other)
	}
}

// Whoever loses patience gets the error of the context, and nothing is spoilt
// for others.
func TestClipIsGivenUp(t *testing.T) {
	dir := t.TempDir()
	writeWAV(t, filepath.Join(dir, "Keys.wav"), pcmtest.Music(20*48000, 48000), 48000, 2)
	m := mustOpen(t, dir)
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if _, err := m.Clip(stopped, 0); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if c, err := m.Clip(t.Context(), 0); err != nil || len(c.Stems) != 1 {
		t.Errorf("%v, %+v", err, c.Stems)
	}
}
