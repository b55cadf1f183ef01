// Package desk lays the parts of strop out for both programs, the terminal
// and the window: the history, the material, the sound, and a sitting made of
// them. Siblings that must not know each other meet here.
package desk

import (
	"context"
	"path/filepath"

	"strop/drills"
	"strop/drills/sqlite"
)

// Desk is where one listener works.
type Desk struct {
	History *sqlite.DB
	Clock   drills.Clock
}

// HistoryPath is where in a data folder the history lies.
func HistoryPath(dataDir string) string { return filepath.Join(dataDir, "history.db") }

// Open opens the history in a data folder, or begins one.
func Open(dataDir string, clock drills.Clock) (*Desk, error) {
	db, err := sqlite.Open(HistoryPath(dataDir))
	if err != nil {
		return nil, err
	}
	return &Desk{History: db, Clock: clock}, nil
}

// Close releases the history.
func (d *Desk) Close() error { return d.History.Close() }

// Remember notes that a song was practised on.
func (d *Desk) Remember(ctx context.Context, s *Song) error {
	done, _ := s.Material.Progress()
	return d.History.RememberMaterial(ctx, sqlite.Material{
		Hash: s.Material.Hash(), Path: s.Path, Title: s.Material.Name(),
		DurationS: float64(done) / s.Material.RateHz(), RateHz: s.Material.RateHz(), LastUsed: d.Clock(),
	})
}

// Opened is a song opened, or where it is wanted.
type Opened struct {
	Song    *Song
	Missing string // the path under which the song used last is no longer found
}

// LastUsed opens the song used last; without one, or where it was built in,
// the built-in piece. Where its file has gone, Missing says from where.
func (d *Desk) LastUsed(ctx context.Context) (Opened, error) {
	last, ok, err := d.History.LastMaterial(ctx)
	if err != nil {
		return Opened{}, err
	}
	if !ok || last.Path == "" {
		song, err := OpenBuiltIn(ctx, last.Title)
		return Opened{Song: song}, err
	}
	song, err := OpenSong(ctx, last.Path)
	if err != nil {
		return Opened{Missing: last.Path}, nil
	}
	return Opened{Song: song}, nil
}
