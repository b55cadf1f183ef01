package scene

import (
	"context"

	"strop/drills"
)

// Tracks is the stems of a song, and what is decided about it.
type Tracks interface {
	// Sheet is what is known so far; ready tells whether that is all.
	Sheet() (sheet Sheet, ready bool)
	// Mixed is a loop through other faders.
	Mixed(ctx context.Context, faders []Fader, loS, hiS float64) (drills.Clip, error)
	// Decide keeps a sheet: roles that are the user's, faders that differ,
	// favourites, tags and collections. Faders and roles hold when the song is
	// opened again.
	Decide(ctx context.Context, s Sheet) error
	// Intake looks the song over.
	Intake(ctx context.Context, progress func(share float64)) (Intake, error)
}

// Sheet is what is known of a song, and what was decided about it.
type Sheet struct {
	Stems       []Stem
	Roles       []string // that a stem may have
	Favourites  []drills.Loop
	Tags        []string
	Collections []string
	Warnings    []string // a sentence each
}

// Stem is a track of a song.
type Stem struct {
	Name     string
	Role     string // "" where it is not known
	RoleFrom string // "name", "content", "score", "user"
	Channels int
	Fader    Fader
}

// Fader is where a stem stands in the rough mix: Pan from −1, left, to 1.
type Fader struct {
	GainDB, Pan     float64
	Muted, Inverted bool
}

// Intake is what a look at every stem has found.
type Intake struct {
	Headings []string   // of the columns
	Rows     [][]string // of each stem
	Of       [][]string // sentences about each stem
	Notes    []string   // about all together
}

// few are some loops of a song.
type few struct {
	song  Song
	loops []drills.Loop
}

var _ drills.Clips = few{}

func (f few) Count(context.Context) (int, error) { return len(f.loops), nil }

func (f few) Clip(ctx context.Context, i int) (drills.Clip, error) {
	r := row{loop: f.loops[i%len(f.loops)]}
	return f.song.Cut(ctx, r.loS(), r.hiS())
}
