package content_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"strop/content"
	"strop/content/pcm/pcmtest"
)

// A folder and a file are found again under other names, and a copy of a song
// is the same material wherever it lies.
func TestFindAgain(t *testing.T) {
	root := t.TempDir()
	song, file := filepath.Join(root, "a", "song"), filepath.Join(root, "a", "one.wav")
	for i := range 3 {
		short(t, filepath.Join(song, fmt.Sprint("stem ", i, ".wav")))
		short(t, filepath.Join(root, "other", fmt.Sprint("stem ", i+1, ".wav")))
	}
	writeWAV(t, file, pcmtest.Music(5*48000, 48000), 48000, 1) // unlike the stems
	write(t, filepath.Join(root, "other", "readme.wav"), "text")
	set, err := content.Identify(t.Context(), song)
	if err != nil {
		t.Fatal(err)
	}
	single, err := content.Identify(t.Context(), file)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(
		os.CopyFS(filepath.Join(root, "copy"), os.DirFS(song)),
		os.Rename(song, filepath.Join(root, "new name")), os.Rename(file, filepath.Join(root, "two.WAV"))); err != nil {
		t.Fatal(err)
	}
	if copied, err := content.Identify(t.Context(), filepath.Join(root, "copy")); err != nil || copied != set {
		t.Errorf("the copy is %s, not %s: %v", copied, set, err)
	}
	if err := os.RemoveAll(filepath.Join(root, "copy")); err != nil {
		t.Fatal(err)
	}
	for ref, want := range map[content.Reference]string{
		{Path: song, Hash: set}:    "new name",
		{Path: file, Hash: single}: "two.WAV",
	} {
		found, err := ref.FindAgain(t.Context(), filepath.Join(root, "not mounted"), root)
		if err != nil || found.Path != filepath.Join(root, want) || found.Hash != ref.Hash {
			t.Errorf("%s: found at %s, %v", want, found.Path, err)
		}
		if _, err := ref.FindAgain(t.Context(), filepath.Join(root, "other")); !errors.Is(err, content.ErrMoved) {
			t.Errorf("%s: where it is not: %v", want, err)
		}
	}
}
