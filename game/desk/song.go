package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"strop/content"
	"strop/content/demo"
	"strop/content/library"
	"strop/drills"
	"strop/dsp"
)

// Song is a material and its loops, ready for a session.
type Song struct {
	Path     string              // "" for a built-in piece
	Material *content.Material   // the rough mix
	Tracks   *content.Multitrack // its stems

	desk  *Desk // that keeps what is measured of it
	known int   // fits that were kept when it was opened
}

var _ drills.Clips = (*Song)(nil)

// OpenSong opens a file or a folder of stems, and decodes it in the
// background.
func (d *Desk) OpenSong(ctx context.Context, path string) (*Song, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	m, err := content.OpenMultitrack(ctx, path, d.keeper(ctx))
	return d.newSong(path, m, err)
}

// OpenNamed opens a file or a folder, or where there is none of that name, a
// built-in piece, a material of the library by its title, or the material of a
// collection that was used longest ago.
func (d *Desk) OpenNamed(ctx context.Context, name string) (*Song, error) {
	if _, err := os.Stat(name); !errors.Is(err, os.ErrNotExist) {
		return d.OpenSong(ctx, name)
	}
	if IsBuiltIn(name) {
		return d.OpenBuiltIn(ctx, name)
	}
	if e, ok, err := d.nextOf(ctx, name); ok || err != nil {
		if err != nil {
			return nil, err
		}
		return d.OpenEntry(ctx, e)
	}
	if e, err := d.Find(ctx, name); err == nil {
		return d.OpenEntry(ctx, e)
	}
	return nil, fmt.Errorf("%s: there is no file, folder, material or collection of that name", name)
}

// Reopen opens a song that was used before from the place where it is now. The
// error wraps content.ErrMoved where it is not there.
func (d *Desk) Reopen(ctx context.Context, ref content.Reference, path string) (*Song, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	_, m, err := ref.Open(ctx, path, d.keeper(ctx))
	return d.newSong(path, m, err)
}

// OpenBuiltIn opens a built-in piece by its title or name; without either, the
// first. A song is rendered in the background, or read from the cache of an
// earlier time, and has all its stems.
func (d *Desk) OpenBuiltIn(ctx context.Context, name string) (*Song, error) {
	pieces, err := demo.List()
	if err != nil {
		return nil, err
	}
	piece := pieces[max(0, slices.IndexFunc(pieces, func(p demo.Piece) bool { return name == p.Name || name == p.Title }))]
	if !piece.Stems {
		return d.openPiece(ctx, piece)
	}
	song, err := demo.FindSong(piece.Name)
	if err != nil {
		return nil, err
	}
	m, err := library.OpenDemo(ctx, song, song.Seed, library.DemoCache(cacheDir()), d.keeper(ctx))
	return d.newSong("", m, err)
}

// openPiece opens a piece that has no stems.
func (d *Desk) openPiece(ctx context.Context, p demo.Piece) (*Song, error) {
	ctx, stop := context.WithCancel(ctx)
	material, err := content.Start(ctx, p.Title, p.Hash, p.Open())
	if err != nil {
		stop()
		return nil, err
	}
	m, err := content.Whole(ctx, material, stop)
	return d.newSong("", m, err)
}

// cacheDir is where what can be made again is kept.
func cacheDir() string {
	dir, err := os.UserCacheDir()
	if err != nil {
		dir = os.TempDir()
	}
	return filepath.Join(dir, "strop")
}

// IsBuiltIn reports whether there is a built-in piece of that name or title.
func IsBuiltIn(name string) bool {
	pieces, err := demo.List()
	return err == nil && slices.ContainsFunc(pieces, func(p demo.Piece) bool { return name == p.Name || name == p.Title })
}

func (d *Desk) newSong(path string, m *content.Multitrack, err error) (*Song, error) {
	if err != nil {
		return nil, err
	}
	return &Song{Path: path, Material: m.Mix(), Tracks: m, desk: d, known: len(m.Fits())}, nil
}

// Close ends decoding, and keeps what was measured of the loops meanwhile. If
// that fails, it is measured again another time.
func (s *Song) Close() {
	if fits := s.Tracks.Fits(); len(fits) > s.known {
		_ = s.desk.History.Keep(context.Background(), s.Material.Hash(), keptFits, fits)
	}
	s.Tracks.Close() // nothing was written to it: there is nothing to lose
}

// Count is the number of loops.
func (s *Song) Count(ctx context.Context) (int, error) { return s.Tracks.Loops().Count(ctx) }

// Clip is the i-th loop, with its stems.
func (s *Song) Clip(ctx context.Context, i int) (drills.Clip, error) {
	c, err := s.Tracks.Clip(ctx, i)
	return s.clip(ctx, c), err
}

// Cut is a loop that somebody drew, from one second to another.
func (s *Song) Cut(ctx context.Context, loS, hiS float64) (drills.Clip, error) {
	rateHz := s.Material.RateHz()
	start := int(math.Round(loS * rateHz))
	c, err := s.Tracks.Find(ctx, content.Loop{
		Material: s.Material.Hash(), StartFrame: start, Frames: int(math.Round(hiS*rateHz)) - start, RateHz: rateHz,
	})
	return s.clip(ctx, c), err
}

// clip is a loop as drills know it. A file of one mix has no stems.
func (s *Song) clip(ctx context.Context, c content.Clip) drills.Clip {
	clip := drills.Clip{Loop: drills.Loop(c.Loop), Facts: c.Facts, Name: c.Name, Frames: c.Frames, Beats: drills.Beats(c.Beats)}
	if len(c.Stems) < 2 {
		return clip
	}
	ctx = context.WithoutCancel(ctx) // a stem may be loaded long after the clip was asked for
	for i, stem := range c.Stems {
		clip.Stems = append(clip.Stems, drills.Stem{
			Name: stem.Name, Role: drills.Role(stem.Role), Pair: stem.Partner,
			Facts: stem.Fit.Facts(), Traits: traits(stem.Fit),
			Load: func() ([]dsp.Frame, error) {
				return s.Tracks.InMix(ctx, i, int64(c.Loop.StartFrame), c.Loop.Frames)
			},
		})
	}
	return clip
}

func traits(f content.Fit) drills.Traits {
	return drills.Traits{
		OnsetsPerS: f.OnsetsPerS, CrestDB: f.CrestDB, Sustained: f.Sustained,
		Gaps: f.Gaps, Pitched: f.Pitched, SideDB: f.SideDB,
	}
}

// DecodedShare is how much of the song is there, 0 to 1: rendered or decoded,
// and mixed; below 0 where its length is not known.
func (s *Song) DecodedShare() float64 { return s.Tracks.Progress() }
