package fault_test

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"strop/content/demo"
	"strop/content/flac"
	"strop/content/ogg"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

// voices are two real recordings of speech, phrases of real syllables, and the
// voices of two demo songs, which sing with real consonants. None has been
// treated.
func voices(t *testing.T) []material {
	t.Helper()
	sung, err := sungVoices()
	if err != nil {
		t.Fatal(err)
	}
	if len(heard) == 0 {
		heard = append([]material{recording(t, "mpeg2.mp3", 36), spoken(t), syllables(t)}, sung...)
	}
	return heard
}

// heard keeps voices from one test to the next; they are never changed.
var heard []material

// lead is the whole voice of a demo song, and where its consonants are.
type lead struct {
	material
	consonants []demo.Consonant
}

var leads = map[string]lead{} // filled by sungVoices

var sungVoices = sync.OnceValues(func() (all []material, err error) {
	for _, want := range []struct {
		song, stem string
		from       int
		render     func() (*demo.Rendered, error)
	}{
		{"smallhours", "Lead Vox", 20, smallhours},
		{"corner", "Hook Vox", 10, func() (*demo.Rendered, error) { return render("corner") }},
	} {
		r, err := want.render()
		if err != nil {
			return nil, err
		}
		for _, stem := range r.Stems {
			if stem.Name == want.stem {
				all = append(all, material{want.song, r.RateHz, read(stem.Open(), want.from*48000, loopS*48000)})
				leads[want.song] = lead{material{want.song, r.RateHz, read(stem.Open(), 0, r.Frames)}, stem.Consonants}
			}
		}
	}
	if len(all) != 2 {
		return nil, fmt.Errorf("only %d of the voices were found", len(all))
	}
	return all, nil
})

// spoken is a sentence of LibriSpeech, a corpus of real speech, at 16 kHz.
func spoken(t *testing.T) material {
	t.Helper()
	path := filepath.Join(pcmtest.ModuleDir(t, "github.com/mewkiz/flac"), "testdata", "8297-275156-0011.flac")
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	src, err := flac.Open(f)
	if err != nil {
		t.Fatal(err)
	}
	return material{"sentence", 16000, read(src, 0, 5*16000)}
}

// syllables are phrases of the syllables in the bank, as a woman spoke them.
func syllables(t *testing.T) material {
	t.Helper()
	buf := make([]dsp.Frame, 44100*4/10)
	for _, word := range []string{"p-a", "s-an", "t-ou", "", "k-a", "sh-ou", "b-an", "l-a", "", "t-ao", "ch-ao", "p-ei", "", "m-a", "s-a", "d-ai", "x-i", ""} {
		if word == "" {
			buf = append(buf, make([]dsp.Frame, 44100*6/10)...)
			continue
		}
		f, err := os.Open("../../content/demo/bank/voice/" + word + ".ogg")
		if err != nil {
			t.Fatal(err)
		}
		src, err := ogg.Open(f)
		if err != nil {
			t.Fatal(err)
		}
		buf = append(buf, read(src, 0, int(src.Format().Frames))...)
		f.Close()
	}
	return material{"syllables", 44100, buf}
}
