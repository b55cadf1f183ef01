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
	"strop/drills"
)

// Song is a material and its loops, ready for a session.
type Song struct {
	Path     string // "" for a built-in piece
	Material *content.Material
	loops    *content.Loops
	stop     context.CancelFunc
}

var _ drills.Clips = (*Song)(nil)

// OpenSong opens a file and decodes it in the background.
func OpenSong(ctx context.Context, path string) (*Song, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(ctx)
	m, err := content.Load(ctx, path)
	return newSong(path, m, stop, err)
}

// OpenNamed opens a file, or where there is none of that name, a built-in
// piece.
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
	ctx, stop := context.WithCancel(ctx)
	_, m, err := ref.LoadFrom(ctx, path)
	return newSong(path, m, stop, err)
}

// OpenBuiltIn opens a built-in piece by its title or name; without either, the
// first.
func OpenBuiltIn(ctx context.Context, name string) (*Song, error) {
	pieces, err := demo.List()
	if err != nil {
		return nil, err
	}
	piece := pieces[0]
	for _, p := range pieces {
		if name == p.Name || name == p.Title {
			piece = p
		}
	}
	ctx, stop := context.WithCancel(ctx)
	m, err := content.Start(ctx, piece.Title, piece.Hash, piece.Open())
	return newSong("", m, stop, err)
}

// IsBuiltIn reports whether there is a built-in piece of that name or title.
func IsBuiltIn(name string) bool {
	pieces, err := demo.List()
	return err == nil && slices.ContainsFunc(pieces, func(p demo.Piece) bool { return name == p.Name || name == p.Title })
}

func newSong(path string, m *content.Material, stop context.CancelFunc, err error) (*Song, error) {
	if err != nil {
		stop()
		return nil, err
	}
	return &Song{Path: path, Material: m, loops: content.FindLoops(m), stop: stop}, nil
}

// Close ends decoding.
func (s *Song) Close() { s.stop() }

// Count is the number of loops.
func (s *Song) Count(ctx context.Context) (int, error) { return s.loops.Count(ctx) }

// Clip is the i-th loop.
func (s *Song) Clip(ctx context.Context, i int) (drills.Clip, error) {
	c, err := s.loops.Clip(ctx, i)
	return clip(c), err
}

// Cut is a loop that somebody drew, from one second to another.
func (s *Song) Cut(ctx context.Context, loS, hiS float64) (drills.Clip, error) {
	rateHz := s.Material.RateHz()
	start := int(math.Round(loS * rateHz))
	c, err := s.loops.Find(ctx, content.Loop{
		Material: s.Material.Hash(), StartFrame: start, Frames: int(math.Round(hiS*rateHz)) - start, RateHz: rateHz,
	})
	return clip(c), err
}

func clip(c content.Clip) drills.Clip {
	return drills.Clip{Loop: drills.Loop(c.Loop), Facts: c.Facts, Name: c.Name, Frames: c.Frames}
}

// DecodedShare is how much of the song is decoded, 0 to 1; below 0 where its
// length is not known.
func (s *Song) DecodedShare() float64 {
	done, total := s.Material.Progress()
	if total <= 0 {
		return -1
	}
	return float64(done) / float64(total)
}
