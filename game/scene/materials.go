package scene

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"strop/drills"
	"strop/dsp"
	"strop/game/ui"
)

// materials is where a song is chosen, and looked at: its waveform, its loops
// and how loud they are.
type materials struct {
	st      *Stage
	known   []Material
	filter  string // label that is shown alone, "own", "built in", or "" for all
	chosen  int    // of those that are shown
	problem error

	song     Song  // what the loops below belong to
	loops    []row // as far as they are measured
	measured bool  // there are no more
	peaks    []ui.Peak
	peaksAt  float64 // share that was decoded when peaks were made
	cancel   context.CancelFunc

	loop       int     // of loops; -1: one that was drawn
	loS, hiS   float64 // what the waveform shows as the loop
	playing    bool
	playheadS  float64
	cutProblem error
}

// row is a loop as the list shows it.
type row struct {
	loop drills.Loop
	lufs float64
}

func (r row) loS() float64 { return float64(r.loop.StartFrame) / r.loop.RateHz }
func (r row) hiS() float64 { return float64(r.loop.StartFrame+r.loop.Frames) / r.loop.RateHz }

var (
	_ Scene  = (*materials)(nil)
	_ shower = (*materials)(nil)
	_ leaver = (*materials)(nil)
	_ mover  = (*materials)(nil)
	_ waiter = (*materials)(nil)
)

func newMaterials(st *Stage) *materials {
	return &materials{st: st, cancel: func() {}}
}

func (m *materials) shown() {
	lib := m.st.world.Library
	m.st.work(func(ctx context.Context) func() {
		known, err := lib.Known(ctx)
		return func() { m.list(known, err) }
	})
	m.songChanged()
}

// list takes the materials there are.
func (m *materials) list(known []Material, err error) {
	m.known, m.problem = known, err
	m.chosen = m.inUse(m.listed())
}

// inUse is the place of the song at hand in a list.
func (m *materials) inUse(known []Material) int {
	s := m.st.desk.song
	if s == nil {
		return -1
	}
	hash := s.About().Hash
	return slices.IndexFunc(known, func(k Material) bool { return k.Hash == hash })
}

// songChanged begins to measure the loops of another song.
func (m *materials) songChanged() {
	song := m.st.desk.song
	if song == m.song {
		return
	}
	m.stop()
	m.cancel()
	m.song, m.loops, m.measured, m.peaks, m.peaksAt, m.loop, m.loS, m.hiS, m.cutProblem = song, nil, false, nil, 0, 0, 0, 0, nil
	lib := m.st.world.Library
	m.cancel = m.st.jobs.start(func(ctx context.Context, tell func(func())) func() {
		m.measure(ctx, song, tell)
		m.measureFavourites(ctx, song, tell)
		known, err := lib.Known(ctx)
		return func() {
			m.measured = true
			m.list(known, err)
		}
	})
}

// measure tells of every loop as soon as it is known.
func (m *materials) measure(ctx context.Context, song Song, tell func(func())) {
	for i, n := 0, 1; i < n; i++ {
		clip, err := song.Clip(ctx, i)
		if err != nil {
			tell(func() { m.cutProblem = err })
			return
		}
		r := row{clip.Loop, clip.Facts.LoudnessLUFS}
		tell(func() { m.add(r) })
		if n, err = song.Count(ctx); err != nil {
			tell(func() { m.cutProblem = err })
			return
		}
	}
}

// measureFavourites tells of those that were drawn by hand.
func (m *materials) measureFavourites(ctx context.Context, song Song, tell func(func())) {
	sheet, _ := song.Sheet()
	for _, loop := range sheet.Favourites {
		r := row{loop: loop}
		clip, err := song.Cut(ctx, r.loS(), r.hiS())
		if err != nil {
			tell(func() { m.cutProblem = err })
			return
		}
		r = row{clip.Loop, clip.Facts.LoudnessLUFS}
		tell(func() {
			if m.place(r.loop) < 0 {
				m.add(r)
			}
		})
	}
}

// place is that of a loop in the list, −1 where it is not there.
func (m *materials) place(loop drills.Loop) int {
	return slices.IndexFunc(m.loops, func(r row) bool { return r.loop == loop })
}

// favour makes the loop that is shown a favourite, or takes that away.
func (m *materials) favour() {
	m.cut(func(clip drills.Clip) {
		song := m.song
		sheet, _ := song.Sheet()
		now := slices.DeleteFunc(slices.Clone(sheet.Favourites), func(l drills.Loop) bool { return l == clip.Loop })
		if len(now) == len(sheet.Favourites) {
			now = append(now, clip.Loop)
		}
		sheet.Favourites = now
		m.st.work(func(ctx context.Context) func() {
			err := song.Decide(ctx, sheet)
			return func() { m.favoured(clip, now, err) }
		})
	})
}

func (m *materials) favoured(clip drills.Clip, now []drills.Loop, err error) {
	if m.cutProblem = err; err != nil {
		return
	}
	if m.place(clip.Loop) < 0 {
		m.loops = append(m.loops, row{clip.Loop, clip.Facts.LoudnessLUFS})
	}
	m.loop = m.place(clip.Loop)
	if len(m.st.desk.liked) > 0 {
		m.st.desk.liked = now
	}
}

func (m *materials) add(r row) {
	m.loops = append(m.loops, r)
	only := m.st.desk.only
	if len(m.loops) == 1 || only != nil && only.Loop == r.loop {
		m.choose(len(m.loops) - 1)
	}
}

func (m *materials) choose(i int) {
	m.loop, m.loS, m.hiS, m.cutProblem = i, m.loops[i].loS(), m.loops[i].hiS(), nil
}

func (m *materials) left() {
	m.stop()
	m.cancel()
}

func (m *materials) stop() {
	if m.playing {
		m.st.world.Sound.Move(Silence)
	}
	m.playing = false
}

// playheadEvery is how often the line that moves over the waveform does.
const playheadEvery = 50 * time.Millisecond

func (m *materials) move(time.Time) time.Duration {
	m.overview()
	switch {
	case m.playing:
		m.playheadS = m.loS + m.st.world.Sound.Heard().Part*(m.hiS-m.loS)
		return playheadEvery
	case m.song != nil && m.peaksAt < 1:
		return progressEvery
	}
	return 0
}

// overviewSteps is how finely a waveform is drawn.
const overviewSteps = 1100

// overview makes the waveform anew as more of the song is decoded.
func (m *materials) overview() {
	if m.song == nil || m.peaksAt >= 1 {
		return
	}
	share := m.song.About().Decoded
	if m.peaks == nil || share-m.peaksAt > 0.1 || share >= 1 {
		m.peaks, m.peaksAt = m.song.Peaks(overviewSteps), share
	}
}

func (m *materials) Do(a ui.Action) {
	switch a.Kind {
	case ui.Changed:
		m.changed(a)
	case ui.Submit:
		m.submitted(a)
	case ui.Pressed:
		m.pressed(a.ID)
	}
}

func (m *materials) changed(a ui.Action) {
	switch a.ID {
	case "songs":
		m.chosen = a.Index
	case "loops":
		m.stop()
		m.choose(a.Index)
	case "wave":
		m.stop()
		m.loop, m.loS, m.hiS, m.cutProblem = -1, a.Lo, a.Hi, nil
	case "which":
		m.which(a.Index)
	case "filter":
		m.filter = m.filters()[a.Index]
		m.chosen = m.inUse(m.listed())
	}
}

func (m *materials) submitted(a ui.Action) {
	switch a.ID {
	case "songs":
		m.chosen = a.Index
		m.use()
	case "loops", "wave":
		m.hear()
	}
}

func (m *materials) pressed(id string) {
	switch id {
	case "use":
		m.use()
	case "hear":
		m.hear()
	case "turn":
		m.turn()
	case "favour":
		m.favour()
	case "stems":
		if m.song != nil {
			m.stop()
			m.st.open(newStems(m.st, m.loS, m.hiS))
		}
	case "intake":
		if m.song != nil {
			m.stop()
			m.st.open(newIntake(m.st))
		}
	case "browse":
		m.st.open(newBrowse(m.st, ""))
	case "dialogue":
		m.st.ask(m.st.take)
	case "cancel":
		m.st.stopOpening()
	case "find":
		m.st.open(newFind(m.st, *m.st.desk.moved))
	case "back":
		m.st.back()
	}
}

func (m *materials) use() {
	if shown := m.listed(); m.chosen >= 0 && m.chosen < len(shown) && m.chosen != m.inUse(shown) {
		m.st.take(shown[m.chosen])
	}
}

// The shortest and the longest loop that is drawn by hand, in seconds: as long
// as loops that are cut, and a whole song that is taken as one.
const (
	shortestS = 2
	longestS  = 12
)

// cut has the loop that is shown, and does something with it.
func (m *materials) cut(use func(drills.Clip)) {
	loS, hiS, song := m.loS, m.hiS, m.song
	if length := hiS - loS; song == nil || length < shortestS || length > longestS {
		m.cutProblem = fmt.Errorf("a loop lasts %d to %d seconds; this one is %.1f", shortestS, longestS, length)
		return
	}
	m.st.work(func(ctx context.Context) func() {
		clip, err := song.Cut(ctx, loS, hiS)
		return func() {
			if m.cutProblem = err; err == nil && song == m.song {
				use(clip)
			}
		}
	})
}

// hear plays the loop, as loud as a trial and no louder.
func (m *materials) hear() {
	if m.playing {
		m.stop()
		return
	}
	m.cut(func(clip drills.Clip) {
		if m.st.front() != Scene(m) {
			return
		}
		m.cutProblem = m.st.world.Sound.Play(clip.Loop.RateHz, [][]dsp.Frame{asTrial(clip)}, 0)
		m.playing = m.cutProblem == nil
	})
}

// asTrial is a loop at the loudness of a trial.
func asTrial(clip drills.Clip) []dsp.Frame {
	frames := slices.Clone(clip.Frames)
	if !audible(clip) {
		return frames
	}
	gainDB := min(drills.PlayLUFS-clip.Facts.LoudnessLUFS, drills.CeilingDBTP-clip.Facts.TruePeakDBTP)
	dsp.Gain(dsp.FromDB(gainDB)).Process(frames)
	return frames
}

// which loops trials are made of: 0 all, 1 the favourites, 2 the one that is
// shown.
func (m *materials) which(i int) {
	if i < 2 {
		m.st.desk.only, m.st.desk.liked = nil, nil
	}
	switch {
	case i == 0:
		return
	case i == 1:
		m.whichLiked()
		return
	}
	m.cut(func(clip drills.Clip) {
		if !audible(clip) {
			m.cutProblem = errors.New("this loop is silent: choose another")
			return
		}
		m.st.desk.only, m.st.desk.liked = &clip, nil
	})
}

func (m *materials) whichLiked() {
	if m.song == nil {
		return
	}
	sheet, _ := m.song.Sheet()
	if len(sheet.Favourites) == 0 {
		m.cutProblem = errors.New("there are no favourites yet: make the loop that is shown one")
		return
	}
	m.st.desk.liked = sheet.Favourites
}

func audible(clip drills.Clip) bool { return !math.IsInf(clip.Facts.LoudnessLUFS, 0) }
