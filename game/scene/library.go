package scene

import (
	"context"
	"time"

	"strop/drills"
	"strop/game/ui"
)

// Library is the material that there is.
type Library interface {
	// Known is what was used before, the last first, then the built-in pieces.
	Known(ctx context.Context) ([]Material, error)
	// Open opens a material. Where it is not at its place any more, or another
	// file has taken it, the error is a *Moved. Decoding goes on until Close.
	Open(m Material) (Song, error)
	// Remember notes that a song is practised on.
	Remember(ctx context.Context, s Song) error
}

// Material names a song: by its path, or as a built-in piece by its title.
type Material struct {
	Title             string
	Path              string // "" for a built-in piece
	Hash              string // of its content; "" where it is not known yet
	Doc               string // one sentence, where there is one
	DurationS         float64
	Stems             int  // 0: not known
	Missing           bool // it is not where it was last
	Tags, Collections []string
	LastUsed          time.Time // zero: never
}

// Moved says that a material is not where it was.
type Moved struct {
	Material Material
	Problem  error
}

func (m *Moved) Error() string { return m.Problem.Error() }
func (m *Moved) Unwrap() error { return m.Problem }

// Song is a material that is open, and its loops.
type Song interface {
	drills.Clips
	Overview
	Tracks
	Close()
}

// Overview is what is shown of a song.
type Overview interface {
	// About is what it is, and how far decoding has come.
	About() About
	// Peaks is the whole song in n steps, as far as it is decoded.
	Peaks(n int) []ui.Peak
	// Cut is a loop from one second to another.
	Cut(ctx context.Context, loS, hiS float64) (drills.Clip, error)
}

// About is what a song is.
type About struct {
	Material
	RateHz  float64
	Decoded float64 // share, 0 to 1; below 0 where its length is not known
	Damage  error   // why less than the whole can be used
}

// one is the loops of a song cut down to a single one.
type one struct{ clip drills.Clip }

var _ drills.Clips = one{}

func (one) Count(context.Context) (int, error) { return 1, nil }

func (o one) Clip(context.Context, int) (drills.Clip, error) { return o.clip, nil }
