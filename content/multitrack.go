package content

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"strop/dsp"
)

// Multitrack is a song in hand: stems that start together, and the rough mix
// of them. A song that is one file has a single stem, the mix itself.
//
// Opening reads no more than heads of files. What takes longer goes on in the
// background, in this order: what Tracks prepare (roles that no name tells,
// the rough balance, rendering of a demo song), then the mix, from its first
// frame on, so that the first loop is there early.
//
// Memory: the mix, 8 bytes a frame as in a Material, and about 4 MB for each
// processor at work, however many stems there are and however long they are.
// Stems are read from their files region by region; see Folder for those
// that cannot be.
//
// All methods may be called from any goroutine.
type Multitrack struct {
	tracks Tracks
	mix    *Material
	loops  *Loops
	stop   context.CancelFunc

	ready chan struct{} // closed when prepared
	mu    sync.Mutex    // of what follows
	sheet Sheet
	share float64 // of what is to be prepared
	err   error   // why it could not be
	known map[Loop]*fitting
	fits  *fits
}

// Tracks is what a Multitrack is read from.
type Tracks interface {
	// Sheet is what is known at once. Number and order of the stems are final,
	// and so are length and rate.
	Sheet() Sheet
	// Prepare does what must be done before stems are read, and completes
	// the sheet, all faders included. It is called once.
	Prepare(ctx context.Context, progress func(share float64)) (Sheet, error)
	// Read fills dst with the frames of a stem from start on, mono on both
	// channels, silence after its end.
	Read(ctx context.Context, stem int, dst []dsp.Frame, start int64) error
	// Close releases files. Nothing is read afterwards.
	Close() error
}

// Sheet is the track sheet of a song.
type Sheet struct {
	Name     string // for people
	Path     string // of the folder or file; "" for a demo song
	Hash     string // identity: see HashSet
	Demo     string // name of a demo song, "" for a user's own
	Seed     uint64 // of the take of a demo song
	RateHz   float64
	Frames   int64 // of the longest stem, at RateHz; -1 where not known before the end
	Stems    []Stem
	Faders   []Fader  // one a stem
	Score    Score    // what is known of the music
	Warnings []string // what was left out or looks wrong, a sentence each
}

// Stem is one track of a multitrack, as the sheet names it.
type Stem struct {
	Name     string  `json:"name"` // of the file, without extension
	Path     string  `json:"path,omitempty"`
	Role     Role    `json:"role"`
	RoleFrom Origin  `json:"roleFrom"`
	Pair     string  `json:"pair,omitempty"` // stems with the same word are microphones, or lines, on one source
	Channels int     `json:"channels"`       // 1 or 2
	Bits     int     `json:"bits"`           // 0 where the format has no such figure
	RateHz   float64 `json:"rateHz"`         // of the file
	Frames   int64   `json:"frames"`         // of the file, at its own rate

	// Known of demo songs only.
	Source     string      `json:"source,omitempty"`    // what it is meant to hear
	Mic        bool        `json:"mic,omitempty"`       // else a line
	DistanceM  float64     `json:"distanceM,omitempty"` // of a microphone from its source
	Inverted   bool        `json:"inverted,omitempty"`  // wired the wrong way round, on purpose
	LimitHz    float64     `json:"limitHz,omitempty"`   // above it there is nothing of the source; 0: full band
	Synthetic  bool        `json:"synthetic,omitempty"` // a voice that nobody sang
	Notes      []Note      `json:"-"`
	Consonants []Consonant `json:"-"`
}

// Origin is how something is known.
type Origin string

// Where a role may come from. A later one wins.
const (
	Unknown     Origin = ""
	FromContent Origin = "content" // guessed from how it sounds
	FromName    Origin = "name"
	FromScore   Origin = "score" // of a demo song: it is known
	FromUser    Origin = "user"
)

// Score is what is known of the music beforehand: of demo songs alone.
type Score struct {
	TempoBPM    float64
	BeatsPerBar int
	Beats       []int // frames; the last one ends the last bar
	Key         string
	Sections    []Section
}

// Section is a part of a song, frame To excluded.
type Section struct {
	Name     string
	From, To int
}

// Note is a note that a stem plays: MIDI number 69 is A4, 440 Hz.
type Note struct {
	From, To int // frames
	Key      int
}

// Consonant is where a voice has a "plosive" or a "sibilant".
type Consonant struct {
	From, To int // frames
	Kind     string
}

// NewMultitrack opens tracks, and starts what goes on in the background. They
// are closed by Close. It goes on until then or until ctx is done. Kept is what
// was measured of its loops before.
func NewMultitrack(ctx context.Context, tracks Tracks, kept []KeptFit) (*Multitrack, error) {
	tracks = share(tracks)
	m := &Multitrack{tracks: tracks, sheet: tracks.Sheet(), ready: make(chan struct{}), known: map[Loop]*fitting{}, fits: newFits(kept)}
	if len(m.sheet.Stems) == 0 {
		return nil, errors.Join(fmt.Errorf("%s: there is no stem in it", m.sheet.Name), tracks.Close())
	}
	ctx, m.stop = context.WithCancel(ctx)
	var err error
	if whole, ok := unshared(tracks).(*fileTracks); ok && m.sheet.Faders[0] == (Fader{}) {
		m.mix = whole.material
	} else {
		m.mix, err = Start(ctx, m.sheet.Name, m.sheet.Hash, &mixdown{m: m, ctx: ctx})
	}
	if err != nil {
		m.stop()
		return nil, errors.Join(err, tracks.Close())
	}
	m.loops = FindLoops(m.mix)
	go m.prepare(ctx)
	return m, nil
}

func (m *Multitrack) prepare(ctx context.Context) {
	sheet, err := m.tracks.Prepare(ctx, func(share float64) {
		m.mu.Lock()
		m.share = share
		m.mu.Unlock()
	})
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.err = err; err == nil {
		m.sheet, m.share = sheet, 1
	}
	close(m.ready)
}

// Ready waits until the sheet is complete and stems can be read.
func (m *Multitrack) Ready(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-m.ready:
		m.mu.Lock()
		defer m.mu.Unlock()
		return m.err
	}
}

// Progress is how much is done of everything, 0 to 1: half of it is what is
// prepared, the other half the mix. Below 0 where nobody knows.
func (m *Multitrack) Progress() (share float64) {
	done, total := m.mix.Progress()
	if total <= 0 {
		return -1
	}
	if _, whole := unshared(m.tracks).(*fileTracks); whole {
		return float64(done) / float64(total)
	}
	return (m.Prepared() + float64(done)/float64(total)) / 2
}

// Prepared is how much of the preparation is done, 0 to 1.
func (m *Multitrack) Prepared() (share float64) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.share
}

// Sheet is the track sheet as far as it is known now. After Ready it is
// complete and does not change. Whoever holds one alters none of its stems.
func (m *Multitrack) Sheet() Sheet {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.sheet
}

// Mix is the rough mix: all stems through their faders.
func (m *Multitrack) Mix() *Material { return m.mix }

// Loops are those of the rough mix.
func (m *Multitrack) Loops() *Loops { return m.loops }

// Close ends what goes on in the background, and releases the files.
func (m *Multitrack) Close() error {
	m.stop()
	<-m.ready // nothing is decoded for it any more
	return m.tracks.Close()
}

// Region is n frames of a stem from frame start on, at the rate of the sheet,
// as they were recorded: no fader. After the end of the stem comes silence.
func (m *Multitrack) Region(ctx context.Context, stem int, start int64, n int) ([]dsp.Frame, error) {
	sheet, err := m.checked(ctx, stem, start, n)
	if err != nil {
		return nil, err
	}
	frames := make([]dsp.Frame, n)
	if err := m.tracks.Read(ctx, stem, frames, start); err != nil {
		return nil, fmt.Errorf("%s: %w", sheet.Name, err)
	}
	return frames, nil
}

// InMix is Region through the fader of the stem: the sum of all stems is the
// mix, to within the 32-bit floats that it is kept in.
func (m *Multitrack) InMix(ctx context.Context, stem int, start int64, n int) ([]dsp.Frame, error) {
	frames, err := m.Region(ctx, stem, start, n)
	if err != nil {
		return nil, err
	}
	left, right := m.Sheet().Faders[stem].Ratios()
	for i := range frames {
		frames[i][0] *= left
		frames[i][1] *= right
	}
	return frames, nil
}

func (m *Multitrack) checked(ctx context.Context, stem int, start int64, n int) (Sheet, error) {
	if err := m.Ready(ctx); err != nil {
		return Sheet{}, err
	}
	sheet := m.Sheet()
	if stem < 0 || stem >= len(sheet.Stems) {
		return sheet, fmt.Errorf("%s: there is no stem %d; there are %d, from 0", sheet.Name, stem, len(sheet.Stems))
	}
	if start < 0 || n < 0 || start > MaxFrames || n > MaxFrames {
		return sheet, fmt.Errorf("%s: there are no %d frames at frame %d", sheet.Name, n, start)
	}
	return sheet, nil
}
