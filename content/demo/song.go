package demo

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"hash"
	"strings"
	"sync"

	"strop/dsp"
)

// Song is a score that can be rendered, as many takes of it as one likes.
type Song struct {
	Name  string // a word to ask for it by
	Title string // for people
	Doc   string // one sentence: what it is good for
	Style string // a word or two: "band", "voice and piano"
	Seed  uint64 // of the take as it is written

	score  *score
	digest string
}

// songNames are the songs, in the order of Songs; a score is scores/NAME.txt.
var songNames = []string{"kettle", "lanterns", "gravel", "tidewire", "corner", "smallhours", "parade", "windowseat", "ledger"}

// Songs are all songs. Their scores are read once.
func Songs() ([]Song, error) { return songs() }

var songs = sync.OnceValues(func() ([]Song, error) {
	hashes, err := manifest()
	if err != nil {
		return nil, err
	}
	var all []Song
	for _, name := range songNames {
		s, err := readSong(name, hashes)
		if err != nil {
			return nil, fmt.Errorf("score %s, %w", name, err)
		}
		all = append(all, s)
	}
	return all, nil
})

func readSong(name string, hashes map[string]string) (Song, error) {
	text, err := files.ReadFile("scores/" + name + ".txt")
	if err != nil {
		return Song{}, err
	}
	s, err := parseScore(bytes.NewReader(text))
	if err != nil {
		return Song{}, err
	}
	digest := sha256.New()
	digest.Write(text)
	err = s.addTo(digest, hashes)
	return Song{
		Name: name, Title: s.title, Doc: s.doc, Style: s.style, Seed: s.seed,
		score: s, digest: fmt.Sprintf("%x", digest.Sum(nil)[:12]),
	}, err
}

// addTo adds to a digest every set and every recording that the score uses.
func (s *score) addTo(digest hash.Hash, hashes map[string]string) error {
	for _, set := range s.sets {
		text, err := files.ReadFile(setPath(set))
		if err != nil {
			return err
		}
		digest.Write(text)
	}
	for _, path := range s.recordings() {
		if hashes[path] == "" {
			return fmt.Errorf("sample %s is not in the manifest", path)
		}
		digest.Write([]byte(hashes[path]))
	}
	return nil
}

// recordings are the files of the bank that the score uses, some of them
// several times.
func (s *score) recordings() (paths []string) {
	for _, src := range s.sources {
		for _, snd := range src.sounds {
			paths = append(paths, snd.samples...)
		}
	}
	return append(paths, s.syllables...)
}

// Hash is the identity of a take: demo:NAME:VERSION:SEED: and a digest of the
// score and of every recording it uses. It changes whenever the sound does.
// Rendered frames are not part of it, because their last bits differ from one
// kind of processor to another.
func (s Song) Hash(seed uint64) string {
	return fmt.Sprintf("demo:%s:%d:%d:%s", s.Name, version, seed, s.digest)
}

// Labels are the stems of every take, without rendering any.
func (s Song) Labels() []Label {
	var labels []Label
	for _, st := range s.score.stems {
		labels = append(labels, st.label())
	}
	return labels
}

// DurationS is the length of a take, in seconds.
func (s Song) DurationS(seed uint64) float64 {
	return float64(s.score.take(seed).frames()) / rateHz
}

// Render plays the take of a seed; s.Seed is the one that is written, with
// its tempo and key. One seed gives the same stems on one machine, bit for
// bit, however many processors work on it.
//
// progress, which may be nil, is called now and then, from one goroutine at a
// time, with the share that is done, 0 to 1. The error is that of ctx where it
// ended first.
func (s Song) Render(ctx context.Context, seed uint64, progress func(share float64)) (*Rendered, error) {
	stems, err := s.score.take(seed).render(ctx, progress)
	if err != nil {
		return nil, fmt.Errorf("song %s: %w", s.Name, err)
	}
	return s.rendered(seed, stems), nil
}

func (s Song) rendered(seed uint64, stems []Stem) *Rendered {
	t := s.score.take(seed)
	return &Rendered{
		Song: s, Seed: seed, RateHz: rateHz, Frames: t.frames(), TempoBPM: t.tempo, BeatsPerBar: t.beats,
		Beats: t.beatFrames(), Key: t.key.Shift(t.shift), Sections: t.sections(), Stems: stems,
	}
}

// Describe is a take with everything but its frames: it takes milliseconds.
func (s Song) Describe(seed uint64) (*Rendered, error) {
	r := &rendering{take: s.score.take(seed), notes: map[*sourceScore][]event{}}
	for i, src := range r.sources {
		if src.kind != "amp" {
			r.notes[src] = r.events(src, r.chanceOf(i))
		}
		if src.kind == "voice" {
			if _, err := r.words(r.notes[src]); err != nil {
				return nil, err
			}
		}
	}
	r.label()
	return s.rendered(seed, r.stems), nil
}

func (s Song) rough() ([]dsp.Frame, error) {
	r, err := s.Render(context.Background(), s.Seed, nil)
	if err != nil {
		return nil, err
	}
	return r.Rough()
}

// FindSong is the song of that name.
func FindSong(name string) (Song, error) {
	all, err := Songs()
	if err != nil {
		return Song{}, err
	}
	for _, s := range all {
		if s.Name == name {
			return s, nil
		}
	}
	return Song{}, fmt.Errorf("there is no song %q; there are %s", name, strings.Join(songNames, ", "))
}
