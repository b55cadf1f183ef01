package content

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"strop/dsp"
)

// WithFaders is the same stems through other faders: a Multitrack of its own,
// whose mix is made anew. Both are to be closed. It waits until m is ready.
func (m *Multitrack) WithFaders(ctx context.Context, faders []Fader) (*Multitrack, error) {
	if err := m.Ready(ctx); err != nil {
		return nil, err
	}
	sheet := m.Sheet()
	if len(faders) != len(sheet.Stems) {
		return nil, fmt.Errorf("%s: there are %d faders for %d stems", sheet.Name, len(faders), len(sheet.Stems))
	}
	sheet.Faders = slices.Clone(faders)
	return NewMultitrack(context.WithoutCancel(ctx), m.tracks.(*sharedTracks).again(sheet), m.Fits())
}

// MixRegion is n frames of the mix from frame start on as it would be through
// other faders, for whoever is moving them.
func (m *Multitrack) MixRegion(ctx context.Context, faders []Fader, start int64, n int) ([]dsp.Frame, error) {
	sheet, err := m.checked(ctx, 0, start, n)
	if err != nil {
		return nil, err
	}
	if len(faders) != len(sheet.Stems) {
		return nil, fmt.Errorf("%s: there are %d faders for %d stems", sheet.Name, len(faders), len(sheet.Stems))
	}
	sheet.Faders = faders
	return m.mixRegion(ctx, sheet, start, n)
}

// sharedTracks are tracks that several multitracks read from. The last one
// closes them.
type sharedTracks struct {
	Tracks
	users *users
	sheet *Sheet // that stands in for that of the tracks; nil: none
	once  sync.Once
}

type users struct {
	mu sync.Mutex
	n  int
}

var _ Tracks = (*sharedTracks)(nil)

func share(t Tracks) *sharedTracks {
	if s, ok := t.(*sharedTracks); ok {
		return s
	}
	return &sharedTracks{Tracks: t, users: &users{n: 1}}
}

// unshared are the tracks themselves.
func unshared(t Tracks) Tracks {
	if s, ok := t.(*sharedTracks); ok {
		return s.Tracks
	}
	return t
}

// again is another user, with another sheet, which is complete.
func (s *sharedTracks) again(sheet Sheet) *sharedTracks {
	s.users.mu.Lock()
	defer s.users.mu.Unlock()
	s.users.n++
	return &sharedTracks{Tracks: s.Tracks, users: s.users, sheet: &sheet}
}

func (s *sharedTracks) Sheet() Sheet {
	if s.sheet != nil {
		return *s.sheet
	}
	return s.Tracks.Sheet()
}

func (s *sharedTracks) Prepare(ctx context.Context, progress func(share float64)) (Sheet, error) {
	if s.sheet != nil {
		return *s.sheet, nil
	}
	return s.Tracks.Prepare(ctx, progress)
}

func (s *sharedTracks) Close() (err error) {
	s.once.Do(func() {
		s.users.mu.Lock()
		s.users.n--
		last := s.users.n == 0
		s.users.mu.Unlock()
		if last {
			err = s.Tracks.Close()
		}
	})
	return err
}
