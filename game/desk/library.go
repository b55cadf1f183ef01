package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"strop/content"
	"strop/content/demo"
	"strop/content/library"
	"strop/drills/sqlite"
)

// Entry is a material of the library.
type Entry struct {
	sqlite.Material
	Demo        string // name of a built-in piece, "" for a user's own
	Doc         string // one sentence, of a built-in piece
	Stems       []StemLine
	Tags        []string
	Collections []string
}

// StemLine is a stem as a list shows it.
type StemLine struct {
	Name     string       `json:"name"`
	Role     content.Role `json:"role"`
	Channels int          `json:"channels"`
}

// Missing reports whether it is not where it was last.
func (e Entry) Missing() bool {
	if e.Path == "" {
		return false
	}
	_, err := os.Stat(e.Path)
	return err != nil
}

// Library is everything that was used or added, the last used first, then the
// built-in pieces that were not.
func (d *Desk) Library(ctx context.Context) ([]Entry, error) {
	known, err := d.History.Materials(ctx)
	if err != nil {
		return nil, err
	}
	built, err := builtIn()
	if err != nil {
		return nil, err
	}
	labels, err := d.History.Labels(ctx)
	if err != nil {
		return nil, err
	}
	entries := make([]Entry, 0, len(known)+len(built))
	for _, m := range known {
		e := Entry{Material: m}
		if i := slices.IndexFunc(built, func(b Entry) bool { return b.Hash == m.Hash }); i >= 0 {
			e, built = built[i], slices.Delete(built, i, i+1)
			e.LastUsed = m.LastUsed
		} else if _, err := d.History.Kept(ctx, m.Hash, keptStems, &e.Stems); err != nil {
			return nil, err
		}
		if m.Path == "" && e.Demo == "" {
			continue // a built-in piece of an older program, which sounded otherwise
		}
		entries = append(entries, e)
	}
	entries = append(entries, built...)
	for i := range entries {
		entries[i].label(labels[entries[i].Hash])
	}
	return entries, nil
}

func (e *Entry) label(labels []sqlite.Label) {
	for _, l := range labels {
		switch l.Kind {
		case sqlite.Tag:
			e.Tags = append(e.Tags, l.Name)
		case sqlite.Collection:
			e.Collections = append(e.Collections, l.Name)
		}
	}
}

// builtIn are the built-in pieces, in their order.
func builtIn() (entries []Entry, err error) {
	pieces, err := demo.List()
	if err != nil {
		return nil, err
	}
	for _, p := range pieces {
		format := p.Open().Format()
		e := Entry{Material: sqlite.Material{Hash: p.Hash, Title: p.Title, DurationS: format.Duration().Seconds(), RateHz: format.RateHz},
			Demo: p.Name, Doc: p.Doc, Stems: []StemLine{{Name: "mix", Role: content.Mix, Channels: format.Channels}}}
		if p.Stems {
			if e.Stems, err = demoStems(p.Name); err != nil {
				return nil, err
			}
		}
		entries = append(entries, e)
	}
	return entries, nil
}

func demoStems(name string) ([]StemLine, error) {
	song, err := demo.FindSong(name)
	if err != nil {
		return nil, err
	}
	sheet, err := library.Describe(song, song.Seed)
	return stemLines(sheet), err
}

func stemLines(sheet content.Sheet) (lines []StemLine) {
	for _, s := range sheet.Stems {
		lines = append(lines, StemLine{s.Name, s.Role, s.Channels})
	}
	return lines
}

// Add puts a file or a folder of stems into the library. Where its content is
// there already, before tells under which path; both are one material.
func (d *Desk) Add(ctx context.Context, path string) (added Entry, before *Entry, warnings []string, err error) {
	song, err := d.OpenSong(ctx, path)
	if err != nil {
		return Entry{}, nil, nil, err
	}
	defer song.Close()
	entries, err := d.Library(ctx)
	if err != nil {
		return Entry{}, nil, nil, err
	}
	sheet := song.Tracks.Sheet()
	if i := slices.IndexFunc(entries, func(e Entry) bool { return e.Hash == sheet.Hash }); i >= 0 {
		before = &entries[i]
	}
	if err := d.keepSong(ctx, song, time.Time{}); err != nil {
		return Entry{}, nil, nil, err
	}
	entries, err = d.Library(ctx)
	if err != nil {
		return Entry{}, nil, nil, err
	}
	i := slices.IndexFunc(entries, func(e Entry) bool { return e.Hash == sheet.Hash })
	return entries[i], before, sheet.Warnings, nil
}

// mostPlaces is how many places of one material are remembered.
const mostPlaces = 8

// keepSong notes what a song is and where it lies.
func (d *Desk) keepSong(ctx context.Context, s *Song, used time.Time) error {
	sheet := s.Tracks.Sheet()
	done, total := s.Material.Progress()
	err := d.History.RememberMaterial(ctx, sqlite.Material{
		Hash: sheet.Hash, Path: s.Path, Title: s.Material.Name(),
		DurationS: float64(max(done, total)) / s.Material.RateHz(), RateHz: s.Material.RateHz(), LastUsed: used,
	})
	if err != nil || s.Path == "" {
		return err
	}
	var places []string
	if _, err := d.History.Kept(ctx, sheet.Hash, keptPlaces, &places); err != nil {
		return err
	}
	places = slices.Insert(slices.DeleteFunc(places, func(p string) bool { return p == s.Path }), 0, s.Path)
	if err := d.History.Keep(ctx, sheet.Hash, keptPlaces, places[:min(len(places), mostPlaces)]); err != nil {
		return err
	}
	return d.History.Keep(ctx, sheet.Hash, keptStems, stemLines(sheet))
}

// Forget forgets a material. Its files, and the answers given on it, stay.
func (d *Desk) Forget(ctx context.Context, e Entry) error {
	return d.History.ForgetMaterial(ctx, e.Hash)
}

// Find is the material of a path, title or name.
func (d *Desk) Find(ctx context.Context, name string) (Entry, error) {
	entries, err := d.Library(ctx)
	if err != nil {
		return Entry{}, err
	}
	path, err := filepath.Abs(name)
	if err != nil {
		return Entry{}, err
	}
	var found []Entry
	for _, e := range entries {
		switch {
		case e.Path == path && path != "":
			return e, nil
		case strings.EqualFold(e.Title, name), e.Demo != "" && e.Demo == name:
			found = append(found, e)
		}
	}
	switch len(found) {
	case 0:
		return Entry{}, fmt.Errorf("there is no material called %q: strop material list shows all", name)
	case 1:
		return found[0], nil
	}
	return Entry{}, fmt.Errorf("there are %d materials called %q: give the path of one", len(found), name)
}

// OpenEntry opens a material of the library where it lies now: where it was
// last, where it was before, or beside that under another name. The error wraps
// content.ErrMoved where it is in none of these.
func (d *Desk) OpenEntry(ctx context.Context, e Entry) (*Song, error) {
	if e.Path == "" {
		return d.OpenBuiltIn(ctx, cmp.Or(e.Demo, e.Title))
	}
	ref := content.Reference{Path: e.Path, Hash: e.Hash}
	song, err := d.Reopen(ctx, ref, e.Path)
	if !errors.Is(err, content.ErrMoved) {
		return song, err
	}
	var places []string
	if _, err := d.History.Kept(ctx, e.Hash, keptPlaces, &places); err != nil {
		return nil, err
	}
	for _, place := range places {
		if song, err := d.Reopen(ctx, ref, place); err == nil {
			return song, nil
		}
	}
	if found, ok := nearby(ctx, ref); ok {
		return d.Reopen(ctx, found, found.Path)
	}
	return nil, err
}

// searchFor is how long a material is looked for before somebody is asked.
const searchFor = 2 * time.Second

// nearby looks for a material in the folder it lay in.
func nearby(ctx context.Context, ref content.Reference) (content.Reference, bool) {
	ctx, stop := context.WithTimeout(ctx, searchFor)
	defer stop()
	found, err := ref.FindAgain(ctx, filepath.Dir(ref.Path))
	return found, err == nil
}

// nextOf is the material of a collection that was used longest ago, those that
// are not there last; ok is false where there is no such collection.
func (d *Desk) nextOf(ctx context.Context, collection string) (e Entry, ok bool, err error) {
	entries, err := d.Library(ctx)
	if err != nil {
		return Entry{}, false, err
	}
	entries = slices.DeleteFunc(entries, func(e Entry) bool {
		return !slices.ContainsFunc(e.Collections, func(name string) bool { return strings.EqualFold(name, collection) })
	})
	if len(entries) == 0 {
		return Entry{}, false, nil
	}
	return slices.MinFunc(entries, func(a, b Entry) int {
		if a.Missing() != b.Missing() {
			if a.Missing() {
				return 1
			}
			return -1
		}
		return a.LastUsed.Compare(b.LastUsed)
	}), true, nil
}
