package live

import (
	"context"
	"errors"
	"sync"

	"strop/content"
	"strop/drills/sqlite"
	"strop/dsp"
	"strop/game/desk"
	"strop/game/scene"
	"strop/game/ui"
)

// library is the material that was used, and the built-in pieces.
type library struct{ l *Live }

var _ scene.Library = library{}

func (lib library) Known(ctx context.Context) (known []scene.Material, err error) {
	entries, err := lib.l.Desk.Library(ctx)
	for _, e := range entries {
		known = append(known, scene.Material{
			Title: e.Title, Path: e.Path, Hash: e.Hash, Doc: e.Doc, DurationS: e.DurationS, LastUsed: e.LastUsed,
			Stems: len(e.Stems), Missing: e.Missing(), Tags: e.Tags, Collections: e.Collections,
		})
	}
	return known, err
}

func (lib library) Open(m scene.Material) (scene.Song, error) {
	s, err := lib.open(m)
	if errors.Is(err, content.ErrMoved) {
		return nil, &scene.Moved{Material: m, Problem: err}
	}
	if err != nil {
		return nil, err
	}
	d, err := lib.decided(context.Background(), s.Material.Hash())
	if err != nil {
		s.Close()
		return nil, err
	}
	return &song{Song: s, desk: lib.l.Desk, decided: d}, nil
}

func (lib library) open(m scene.Material) (*desk.Song, error) {
	ctx := context.Background() // a song is decoded until it is closed
	switch {
	case m.Path == "":
		return lib.l.OpenBuiltIn(ctx, m.Title)
	case m.Hash != "":
		return lib.l.OpenEntry(ctx, desk.Entry{Material: sqlite.Material{Path: m.Path, Hash: m.Hash}})
	}
	return lib.l.OpenNamed(ctx, m.Path)
}

func (lib library) Remember(ctx context.Context, s scene.Song) error {
	lib.l.Room.Follow(s.About().RateHz)
	return lib.l.Desk.Remember(ctx, s.(*song).Song)
}

// song is a desk.Song with an overview.
type song struct {
	*desk.Song
	desk *desk.Desk

	mu      sync.Mutex
	decided decided
	buckets []ui.Peak // of bucketFrames each, as far as they are whole
}

var _ scene.Song = (*song)(nil)

func (s *song) About() scene.About {
	done, total := s.Material.Progress()
	frames := total
	if total <= 0 {
		frames = done
	}
	a := scene.About{
		Material: scene.Material{Title: s.Material.Name(), Path: s.Path, Hash: s.Material.Hash(), DurationS: float64(frames) / s.Material.RateHz()},
		RateHz:   s.Material.RateHz(), Decoded: s.DecodedShare(), Damage: s.Material.Err(),
	}
	return a
}

// bucketFrames is how finely the overview is kept.
const bucketFrames = 512

// Peaks is the least and greatest sample of each of n stretches. What is not
// decoded yet is flat.
func (s *song) Peaks(n int) []ui.Peak {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.fill()
	done, total := s.Material.Progress()
	all := int(max(done, total)+bucketFrames-1) / bucketFrames
	peaks := make([]ui.Peak, n)
	for i := range peaks {
		from, to := min(i*all/n, len(s.buckets)), min(max((i+1)*all/n, i*all/n+1), len(s.buckets))
		for _, b := range s.buckets[from:max(from, to)] {
			peaks[i] = ui.Peak{Lo: min(peaks[i].Lo, b.Lo), Hi: max(peaks[i].Hi, b.Hi)}
		}
	}
	return peaks
}

// fill looks at what was decoded since the last time.
func (s *song) fill() {
	var buf [bucketFrames]dsp.Frame
	done, total := s.Material.Progress()
	for {
		at := int64(len(s.buckets)) * bucketFrames
		n := s.Material.Frames(buf[:], at)
		if n == 0 || n < bucketFrames && done < total {
			return
		}
		var p ui.Peak
		for _, f := range buf[:n] {
			l, r := float32(f[0]), float32(f[1])
			p = ui.Peak{Lo: max(-1, min(p.Lo, l, r)), Hi: min(1, max(p.Hi, l, r))}
		}
		s.buckets = append(s.buckets, p)
	}
}
