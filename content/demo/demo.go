// Package demo holds the material that is there before any file is opened:
// pink noise, and songs that are rendered from scores and a bank of samples
// when they are opened, as stems like those that a client would deliver or as
// one rough mix. A seed gives another take, tempo and key of the same song.
// Melodies, words and titles are our own; who made the samples stands in
// bank/README.md.
package demo

import (
	"fmt"
	"slices"
	"strings"

	"strop/content/pcm"
	"strop/dsp"
)

// version is part of every identity. It goes up whenever the same score would
// sound different: a change of renderer, not of scores or samples, which are
// part of the identity themselves.
const version = 5

// Piece is one built-in material.
type Piece struct {
	Name  string // a word to ask for it by
	Title string // for people
	Doc   string // one sentence: what it is good for
	Hash  string // its identity: it changes whenever the sound does
	Stems bool   // it is the rough mix of a Song of that name

	frames int
	render func() ([]dsp.Frame, error)
}

// List is every piece: the songs, each in the take that is written and mixed
// roughly, then pink noise. Nothing is rendered for it.
func List() ([]Piece, error) {
	songs, err := Songs()
	if err != nil {
		return nil, err
	}
	var pieces []Piece
	for _, s := range songs {
		pieces = append(pieces, Piece{
			Name: s.Name, Title: s.Title, Doc: s.Doc, Hash: s.Hash(s.Seed), Stems: true,
			frames: s.score.take(s.Seed).frames(), render: s.rough,
		})
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
// asked for, which takes some seconds of one core.
func (p Piece) Open() pcm.Source { return &source{piece: p} }

// Pink noise: a minute, at the loudness of the songs. Its version is its own,
// because it does not change with the renderer of the songs.
const (
	pinkS       = 60
	pinkSeed    = 1
	pinkVersion = 2
)

func pink() Piece {
	return Piece{
		Name:   "pink",
		Title:  "Pink noise",
		Doc:    "equal power in every octave, nothing to recognise but the change",
		Hash:   fmt.Sprintf("demo:pink:%d:%d", pinkVersion, pinkSeed),
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
