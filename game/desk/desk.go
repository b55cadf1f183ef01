// Package desk lays the parts of strop out for both programs, the terminal
// and the window: the history, the material, the sound, and a sitting made of
// them. Siblings that must not know each other meet here.
package desk

import (
	"context"
	"errors"
	"path/filepath"

	"strop/content"
	"strop/drills"
	"strop/drills/sqlite"
)

// Desk is where one listener works.
type Desk struct {
	History *sqlite.DB
	Clock   drills.Clock
	rescued int // of the answers that are held, how many were saved elsewhere
}

// HistoryPath is where in a data folder the history lies.
func HistoryPath(dataDir string) string { return filepath.Join(dataDir, "history.db") }

// Open opens the history in a data folder, or begins one. Where it cannot be
// written, practice goes on in memory: History.Held tells why, and Rescue
// saves what was answered.
func Open(dataDir string, clock drills.Clock) (*Desk, error) {
	db, err := sqlite.OpenAnyway(HistoryPath(dataDir))
	if err != nil {
		return nil, err
	}
	return &Desk{History: db, Clock: clock}, nil
}

// Close releases the history.
func (d *Desk) Close() error { return d.History.Close() }

// Remember notes that a song was practised on.
func (d *Desk) Remember(ctx context.Context, s *Song) error { return d.keepSong(ctx, s, d.Clock()) }

// LastUsed opens the song used last; without one, or where it was built in, a
// built-in piece. Where its file has gone or another has taken its place, the
// song is nil, and lost is what to look for.
func (d *Desk) LastUsed(ctx context.Context) (song *Song, lost *content.Reference, err error) {
	last, ok, err := d.History.LastMaterial(ctx)
	if err != nil {
		return nil, nil, err
	}
	if !ok || last.Path == "" {
		song, err = d.OpenBuiltIn(ctx, last.Title)
		return song, nil, err
	}
	ref := content.Reference{Path: last.Path, Hash: last.Hash}
	song, err = d.OpenEntry(ctx, Entry{Material: last})
	if errors.Is(err, content.ErrMoved) {
		return nil, &ref, nil
	}
	return song, nil, err
}
