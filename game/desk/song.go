package desk

import (
	"context"
	"errors"
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
}

var _ drills.Clips = (*Song)(nil)

// OpenSong opens a file or a folder of stems, and decodes it in the
// background.
func OpenSong(ctx context.Context, path string) (*Song, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	m, err := content.OpenMultitrack(ctx, path, nil)
	return newSong(path, m, err)
}

// OpenNamed opens a file or a folder, or where there is none of that name, a
// built-in piece.
func OpenNamed(ctx context.Context, name string) (*Song, error) {
	if _, err := os.Stat(name); errors.Is(err, os.ErrNotExist) && IsBuiltIn(name) {
		return OpenBuiltIn(ctx, name)
	}
	return OpenSong(ctx, name)
}

// Reopen opens a song that was used before from the place where it is now. The
// error wraps content.ErrMoved where it is not there.
func Reopen(ctx context.Context, ref content.Reference, path string) (*Song, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	_, m, err := ref.Open(ctx, path, nil)
	return newSong(path, m, err)
}

// OpenBuiltIn opens a built-in piece by its title or name; without either, the
// first. A song is rendered in the background, or read from the cache of an
// earlier time, and has all its stems.
func OpenBuiltIn(ctx context.Context, name string) (*Song, error) {
	pieces, err := demo.List()
	if err != nil {
		return nil, err
	}
	piece := pieces[max(0, slices.IndexFunc(pieces, func(p demo.Piece) bool { return name == p.Name || name == p.Title }))]
	if !piece.Stems {
		return openPiece(ctx, piece)
	}
	song, err := demo.FindSong(piece.Name)
	if err != nil {
		return nil, err
	}
	m, err := library.OpenDemo(ctx, song, song.Seed, library.DemoCache(cacheDir()), nil)
	return newSong("", m, err)
}

// openPiece opens a piece that has no stems.
func openPiece(ctx context.Context, p demo.Piece) (*Song, error) {
	ctx, stop := context.WithCancel(ctx)
	material, err := content.Start(ctx, p.Title, p.Hash, p.Open())
	if err != nil {
		stop()
		return nil, err
	}
	m, err := content.Whole(ctx, material, stop)
	return newSong("", m, err)
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

func newSong(path string, m *content.Multitrack, err error) (*Song, error) {
	if err != nil {
		return nil, err
	}
	return &Song{Path: path, Material: m.Mix(), Tracks: m}, nil
}

// Close ends decoding.
func (s *Song) Close() { s.Tracks.Close() } // nothing was written: there is nothing to lose

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
