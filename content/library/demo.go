// Package library opens whatever is practised on as a multitrack: a folder of
// stems, a file, a demo song. It finds again what was moved.
package library

import (
	"context"
	"fmt"
	"path/filepath"

	"strop/content"
	"strop/content/demo"
	"strop/dsp"
)

// demoBytes is how much the cache of rendered demo songs may hold: the nine
// songs as written, and some takes more.
const demoBytes = 1 << 30

// DemoCache is the cache of rendered songs in the user's cache folder.
func DemoCache(cacheDir string) demo.Cache {
	return demo.Cache{Dir: filepath.Join(cacheDir, "demo"), MaxBytes: demoBytes}
}

// OpenDemo opens a take of a demo song: its stems and all that is known of
// them at once, their sound as soon as it is rendered, or read from the cache.
// Prepared of the multitrack tells how far that is.
func OpenDemo(ctx context.Context, song demo.Song, seed uint64, cache demo.Cache, keep content.Keeper) (*content.Multitrack, error) {
	take, err := song.Describe(seed)
	if err != nil {
		return nil, err
	}
	var kept content.Kept
	if keep != nil {
		if kept, err = keep(song.Hash(seed)); err != nil {
			return nil, err
		}
	}
	t := &demoTracks{song: song, seed: seed, cache: cache, kept: kept, sheet: sheetOf(song, take, kept)}
	return content.NewMultitrack(ctx, t, kept.Fits)
}

// demoTracks are the stems of a demo song.
type demoTracks struct {
	song  demo.Song
	seed  uint64
	cache demo.Cache
	kept  content.Kept
	sheet content.Sheet
	take  *demo.Rendered // nil before it is prepared
}

var _ content.Tracks = (*demoTracks)(nil)

func (t *demoTracks) Sheet() content.Sheet { return t.sheet }

// Prepare renders the song, or reads it from the cache. That it could not be
// kept there is a warning.
func (t *demoTracks) Prepare(ctx context.Context, progress func(share float64)) (content.Sheet, error) {
	take, err := t.cache.Render(ctx, t.song, t.seed, progress)
	if take == nil {
		return t.sheet, err
	}
	if err != nil {
		t.sheet.Warnings = append(t.sheet.Warnings, err.Error())
	}
	faders, err := take.Faders()
	if err != nil {
		return t.sheet, fmt.Errorf("%s: %w", t.song.Title, err)
	}
	for i, f := range faders {
		fader, ok := t.kept.Faders[t.sheet.Stems[i].Name]
		if !ok {
			fader = content.Fader(f)
		}
		t.sheet.Faders = append(t.sheet.Faders, fader)
	}
	t.take = take
	return t.sheet, nil
}

func (t *demoTracks) Read(_ context.Context, stem int, dst []dsp.Frame, start int64) error {
	clear(dst[t.take.Stems[stem].Frames(dst, int(start)):])
	return nil
}

func (t *demoTracks) Close() error { return nil }

func sheetOf(song demo.Song, take *demo.Rendered, kept content.Kept) content.Sheet {
	sheet := content.Sheet{
		Name: song.Title, Hash: song.Hash(take.Seed), Demo: song.Name, Seed: take.Seed,
		RateHz: take.RateHz, Frames: int64(take.Frames),
		Score: content.Score{TempoBPM: take.TempoBPM, BeatsPerBar: take.BeatsPerBar, Beats: take.Beats, Key: take.Key.String()},
	}
	for _, s := range take.Sections {
		sheet.Score.Sections = append(sheet.Score.Sections, content.Section{Name: s.Name, From: s.From, To: s.To})
	}
	for _, st := range take.Stems {
		stem := stemOf(st, take)
		if role, ok := kept.Roles[stem.Name]; ok {
			stem.Role, stem.RoleFrom = role, content.FromUser
		}
		sheet.Stems = append(sheet.Stems, stem)
	}
	return sheet
}

func stemOf(st demo.Stem, take *demo.Rendered) content.Stem {
	stem := content.Stem{
		Name: st.Name, Role: content.Role(st.Role), RoleFrom: content.FromScore, Pair: st.Pair,
		Channels: st.Channels, Bits: 24, RateHz: take.RateHz, Frames: int64(take.Frames),
		Source: st.Source, Mic: st.Mic, DistanceM: st.DistanceM, Inverted: st.Inverted, LimitHz: st.LimitHz, Synthetic: st.Synthetic,
	}
	for _, n := range st.Notes {
		stem.Notes = append(stem.Notes, content.Note{From: n.From, To: n.To, Key: n.Key})
	}
	for _, c := range st.Consonants {
		stem.Consonants = append(stem.Consonants, content.Consonant{From: c.From, To: c.To, Kind: string(c.Kind)})
	}
	return stem
}
