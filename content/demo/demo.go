// Package demo holds the material that is there before any file is opened:
// pink noise, and short pieces that are rendered from scores and a bank of
// samples when they are opened. Melodies, words and titles are our own; who
// made the samples stands in bank/README.md.
package demo

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"

	"strop/content/pcm"
	"strop/dsp"
)

// version is part of every identity. It goes up whenever the same score would
// sound different: a change of renderer, not of scores or samples, which are
// part of the identity themselves.
const version = 2

// Piece is one built-in material.
type Piece struct {
	Name  string // a word to ask for it by
	Title string // for people
	Doc   string // one sentence: what it is good for
	Hash  string // its identity: it changes whenever the sound does

	frames int
	render func() ([]dsp.Frame, error)
}

// rows are the pieces, in the order of List; a score is scores/NAME.txt.
var rows = []struct{ name, doc string }{
	{"kettle", "drums, upright bass and strummed steel strings: a full band, all octaves present"},
	{"lanterns", "electric piano, nylon guitar, bass and hand drums: softer attacks, more space"},
}

// List is every piece: the rendered ones, then pink noise.
func List() ([]Piece, error) {
	var pieces []Piece
	for _, row := range rows {
		p, err := song(row.name, row.doc)
		if err != nil {
			return nil, err
		}
		pieces = append(pieces, p)
	}
	return append(pieces, pink()), nil
}

// Find is the piece of that name.
func Find(name string) (Piece, error) {
	pieces, err := List()
	if err != nil {
		return Piece{}, err
	}
	names := make([]string, len(pieces))
	for i, p := range pieces {
		if p.Name == name {
			return p, nil
		}
		names[i] = p.Name
	}
	return Piece{}, fmt.Errorf("there is no built-in material %q; there are %s", name, strings.Join(names, ", "))
}

// Open makes the piece playable. It is rendered when its first frames are
// asked for, which takes about a second of one core.
func (p Piece) Open() pcm.Source { return &source{piece: p} }

func song(name, doc string) (Piece, error) {
	text, err := files.ReadFile("scores/" + name + ".txt")
	if err != nil {
		return Piece{}, err
	}
	s, err := parseScore(bytes.NewReader(text))
	if err != nil {
		return Piece{}, fmt.Errorf("score %s, %w", name, err)
	}
	hash, err := s.identity(name, text)
	return Piece{Name: name, Title: s.title, Doc: doc, Hash: hash, frames: s.frames(), render: s.render}, err
}

// identity is demo:NAME:VERSION:SEED: and a digest of the score and of every
// sample it uses. Rendered frames are not part of it, because their last bits
// differ from one kind of processor to another.
func (s *score) identity(name string, text []byte) (string, error) {
	hashes, err := manifest()
	if err != nil {
		return "", err
	}
	digest := sha256.New()
	digest.Write(text)
	for _, st := range s.stems {
		for _, snd := range st.sounds {
			for _, path := range snd.samples {
				if hashes[path] == "" {
					return "", fmt.Errorf("score %s: sample %s is not in the manifest", name, path)
				}
				digest.Write([]byte(hashes[path]))
			}
		}
	}
	return fmt.Sprintf("demo:%s:%d:%d:%x", name, version, s.seed, digest.Sum(nil)[:12]), nil
}

// Pink noise: a minute, at the loudness of the pieces.
const (
	pinkS    = 60
	pinkSeed = 1
)

func pink() Piece {
	return Piece{
		Name:   "pink",
		Title:  "Pink noise",
		Doc:    "equal power in every octave, nothing to recognise but the change",
		Hash:   fmt.Sprintf("demo:pink:%d:%d", version, pinkSeed),
		frames: pinkS * rateHz,
		render: renderPink,
	}
}

func renderPink() ([]dsp.Frame, error) {
	frames := make([]dsp.Frame, pinkS*rateHz)
	dsp.NewPink(rateHz, pinkSeed).Fill(frames)
	return frames, setLoudness(frames, loudnessLUFS)
}

// source plays a piece.
type source struct {
	piece    Piece
	rendered bool
	rest     []dsp.Frame
	err      error
}

var _ pcm.Source = (*source)(nil)

// Format is stereo at the rate of the bank, of known length.
func (s *source) Format() pcm.Format {
	return pcm.Format{Container: "built in", Codec: "rendered", RateHz: rateHz, Channels: 2, Frames: int64(s.piece.frames)}
}

// Stream gives the next frames; the first call renders them all.
func (s *source) Stream(buf [][2]float64) (int, bool) {
	if !s.rendered {
		s.rest, s.err = s.piece.render()
		s.rendered = true
	}
	if s.err != nil {
		return 0, false
	}
	n := copy(buf, s.rest)
	s.rest = slices.Clip(s.rest[n:])
	return n, n > 0
}

// Err is why it could not be rendered.
func (s *source) Err() error { return s.err }
