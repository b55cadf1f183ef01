package scene_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"strop/drills"
	"strop/drills/skill"
	"strop/drills/tools"
	"strop/dsp"
	"strop/dsp/measure"
	"strop/game/prefs"
	"strop/game/scene"
	"strop/game/ui"
	"strop/game/ui/uitest"
)

// world is a small world, the same whenever it is made: time that stands
// still until it is moved, two songs, a few folders, a sound that only notes
// what is asked of it.
type world struct {
	scene.World
	t       *testing.T
	now     time.Time
	history *history
	library *library
	sound   *sound
	cards   *cards
	folders *folders
	sitter  *sitter
	stage   *scene.Stage
	state   ui.State
	view    ui.View
}

func newWorld(t *testing.T) *world {
	w := &world{t: t, now: time.Date(2026, 3, 2, 7, 30, 0, 0, time.UTC), view: uitest.Sizes()[0]}
	w.history = &history{settings: map[string]string{"levelSetAt": "2026-02-01T07:00:00Z"}}
	w.library = newLibrary()
	w.sound = &sound{}
	w.cards = &cards{}
	w.folders = &folders{}
	clock := func() time.Time { return w.now }
	w.sitter = &sitter{history: w.history, clock: clock}
	w.World = scene.World{
		Clock: clock, Where: time.UTC, Find: tools.Find, Tools: aFew(), History: w.history, Library: w.library,
		Sources: []scene.Source{
			{What: "drums", Author: "Ada Fell", Licence: "MIT", Package: "kit 3.1", Files: 27},
			{What: "voice", Author: "Bo Lind", Licence: "CC-BY-3.0", Package: "voices 2", Files: 303},
		},
		Drills: w.sitter, Sound: w.sound, Noise: w.sound, Cards: w.cards, Folders: w.folders, Rescue: w.history,
		Wish: scene.Wish{Tool: "eq-band", Trials: 3, Seed: 5},
	}
	return w
}

// aFew are some drills of the table, so that pages do not change with it.
func aFew() (few []drills.Tool) {
	for _, id := range []string{"level-stem", "eq-band", "make-eq", "comp-reduction", "reverb-stem", "mix-cover"} {
		if t, err := tools.Find(id); err == nil {
			few = append(few, t)
		}
	}
	return few
}

// open makes the stage, and waits for what it begins with.
func (w *world) open() *world {
	w.stage = scene.New(w.World, func() {})
	w.t.Cleanup(w.stage.Close)
	w.stage.Settle()
	return w
}

// frame is what is shown.
func (w *world) frame() *ui.Frame {
	f := ui.Layout(w.stage.Page(), w.view, w.state, uitest.Fixed{})
	w.state = f.State()
	return f
}

// keys presses keys one after the other and waits for what comes of each.
// What is longer than a character is a key by name.
func (w *world) keys(keys ...string) *world {
	w.t.Helper()
	for _, k := range keys {
		w.key(k)
		w.stage.Settle()
	}
	return w
}

// key presses one key and waits for nothing.
func (w *world) key(k string) {
	w.t.Helper()
	e := ui.Event{Kind: ui.KeyDown, Key: ui.Key(k)}
	if len([]rune(k)) == 1 {
		e = ui.Event{Kind: ui.Typed, Text: k}
	}
	w.event(e)
}

func (w *world) event(e ui.Event) {
	w.t.Helper()
	f := w.frame()
	if err := f.Check(); err != nil {
		w.t.Errorf("page %s: %v", w.stage.Page().Name, err)
	}
	var a ui.Action
	w.state, a = f.Handle(e)
	if a.Kind != ui.Nothing {
		w.stage.Do(a)
	}
}

// at fails unless a page is shown.
func (w *world) at(page string) *world {
	w.t.Helper()
	if p := w.stage.Page(); p.Name != page {
		w.t.Fatalf("on page %s, want %s:\n%s", p.Name, page, p.Text(80))
	}
	return w
}

// says fails unless the page holds a text.
func (w *world) says(texts ...string) *world {
	w.t.Helper()
	shown := strings.Join(strings.Fields(w.stage.Page().Text(200)), " ")
	for _, text := range texts {
		if !strings.Contains(shown, text) {
			w.t.Errorf("page %s does not say %q:\n%s", w.stage.Page().Name, text, w.stage.Page().Text(100))
		}
	}
	return w
}

// pass lets time go by.
func (w *world) pass(d time.Duration) *world {
	w.now = w.now.Add(d)
	w.stage.Tick(w.now)
	return w
}

// history is records and settings in memory.
type history struct {
	mu       sync.Mutex
	records  []drills.Record
	settings map[string]string
	broken   error // of Append
	held     []drills.Record
	rescued  string // the folder that answers were saved in
}

func (h *history) Append(_ context.Context, r drills.Record) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.broken != nil {
		h.held = append(h.held, r)
		return h.broken
	}
	h.records = append(append(h.records, h.held...), r)
	h.held = nil
	return nil
}

func (h *history) Unkept() (answers int, why error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.held), h.broken
}

func (h *history) Rescue(folders ...string) (told string, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.rescued = folders[0]
	if h.rescued != "/songs" {
		return "", fmt.Errorf("%s is on the same disk", h.rescued)
	}
	return "Saved as " + h.rescued + "/strop-answers.json, which strop import reads.", nil
}

func (h *history) Records(_ context.Context, tool string) ([]drills.Record, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return slices.Clone(h.records), nil
}

func (h *history) Get(_ context.Context, key string) (string, bool, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	v, ok := h.settings[key]
	return v, ok, nil
}

func (h *history) Put(_ context.Context, key, value string) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.settings[key] = value
	return nil
}

// sitter lays sittings out on a history, and knows the trial made last.
type sitter struct {
	history *history
	clock   drills.Clock
	mu      sync.Mutex
	last    *drills.Round
}

// peeked is a session whose trials the sitter sees.
type peeked struct {
	*drills.Session
	sitter *sitter
}

func (p peeked) Next(ctx context.Context) (*drills.Round, error) {
	round, err := p.Session.Next(ctx)
	p.sitter.mu.Lock()
	defer p.sitter.mu.Unlock()
	p.sitter.last = round
	return round, err
}

func newTracker(drills.Rung) drills.Tracker {
	return skill.NewUpDown(skill.UpDownConfig{Start: 9, Min: 1.5, Max: 12, Target: 0.75})
}

func (s *sitter) stand(w scene.Wish) (scene.Standing, drills.Tracker, error) {
	tool, err := tools.Find(w.Tool)
	if err != nil {
		return scene.Standing{}, nil, err
	}
	records, _ := s.history.Records(context.Background(), tool.ID)
	rung, tracker := drills.Climb(tool, records, w.Condition, newTracker)
	if w.Rung != "" {
		if rung, err = tool.Rung(w.Rung); err != nil {
			return scene.Standing{}, nil, err
		}
		tracker = drills.Replay(tool, rung, records, w.Condition, newTracker)
	}
	return scene.Standing{Tool: tool, Rung: rung, Level: tracker.Level()}, tracker, nil
}

func (s *sitter) Stand(_ context.Context, w scene.Wish) (scene.Standing, error) {
	at, _, err := s.stand(w)
	return at, err
}

func (s *sitter) Skills(context.Context) ([]scene.Skill, []scene.Foretold, error) {
	return []scene.Skill{
		{Title: "EQ band, 1 kHz", Condition: "headphones, in the mix", Answers: "31 of 40", Threshold: "2.1 (1.6 to 2.9) dB", Trend: "better", Confused: "2 kHz 4 times", Bias: "0.3 (0.1 to 0.5) oct high", Kept: "5 of 6 after up to 10 days", Due: true},
		{Title: "EQ band, 250 Hz", Condition: "headphones, in the mix", Answers: "20 of 34", Threshold: "3.4 (2.2 to 5.1) dB", Trend: "no real change yet"},
		{Title: "Hum, everywhere", Condition: "headphones, in the mix", Answers: "9 of 11", Trend: "29 more answers needed"},
	}, []scene.Foretold{{Share: 0.58, Right: 0.64, Lo: 0.45, Hi: 0.79, Answers: 25}, {Share: 0.74, Right: 0.7, Lo: 0.58, Hi: 0.8, Answers: 66}, {Share: 0.86, Right: 0.88, Lo: 0.8, Hi: 0.93, Answers: 110}}, nil
}

func (s *sitter) Plan(context.Context, scene.Wish) (scene.Plan, error) {
	return scene.Plan{
		Blocks: []scene.Block{
			{Title: "EQ band, five bands", Minutes: 8, Reason: "A review is due.", Break: true},
			{Title: "Level of a stem, louder or softer", Minutes: 7, Reason: "New: not yet practised."},
		},
		Advice: "Ears tire: stop sooner at ringing, muffled hearing or pain.",
	}, nil
}

func (s *sitter) Sit(_ context.Context, loops drills.Clips, w scene.Wish) (scene.Sitting, error) {
	at, tracker, err := s.stand(w)
	if err != nil {
		return scene.Sitting{}, err
	}
	session, err := drills.NewSession(drills.Config{
		ID: "sitting " + s.clock().Format(time.DateTime), Trials: w.Trials, Seed: w.Seed,
		Planner: &drills.OneTool{Tool: at.Tool, Rung: at.Rung, Condition: w.Condition, Tracker: tracker, Seed: w.Seed},
		Clips:   loops, Rotate: skill.Rotate, Store: s.history, Clock: s.clock,
	})
	return scene.Sitting{Standing: at, Session: peeked{session, s}, Trials: w.Trials}, err
}

// library is two songs that are there, and others that are not as they should
// be.
type library struct {
	known    []scene.Material
	failing  map[string]error
	stems    bool          // songs have them
	gate     chan struct{} // songs wait for it before their first loop
	sheet    scene.Sheet   // of every song
	unready  bool          // it is not complete
	decided  []scene.Sheet
	found    scene.Intake
	opened   []string
	released int
	mu       sync.Mutex
}

func newLibrary() *library {
	return &library{
		known: []scene.Material{
			{Title: "night bus.wav", Path: "/songs/night bus.wav", Hash: "h1", DurationS: 192, LastUsed: time.Date(2026, 3, 1, 7, 0, 0, 0, time.UTC)},
			{Title: "two rooms.flac", Path: "/songs/two rooms.flac", Hash: "h2", DurationS: 241, Tags: []string{"live"}, Collections: []string{"Monday"}},
			{Title: "attic", Path: "/songs/attic", Hash: "h4", DurationS: 200, Missing: true},
			{Title: "Pink noise", Hash: "h3", Doc: "all frequencies at once"},
		},
		sheet: trackSheet(), found: looked(),
		failing: map[string]error{
			"/songs/gone.wav":   errors.New("/songs/gone.wav: there is no such file"),
			"/songs/letter.wav": errors.New("letter.wav: this is no sound file that strop knows"),
		},
	}
}

func (l *library) Known(context.Context) ([]scene.Material, error) { return l.known, nil }

func (l *library) Open(m scene.Material) (scene.Song, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.failing[m.Path]; err != nil {
		return nil, err
	}
	for _, k := range l.known {
		if k.Path == m.Path && (m.Path != "" || k.Title == m.Title) {
			m = k
		}
	}
	if m.Title == "" {
		m.Title = filepath.Base(m.Path)
	}
	l.opened = append(l.opened, m.Title)
	return &song{library: l, about: scene.About{Material: m, RateHz: 48000, Decoded: 1}}, nil
}

func (l *library) Remember(context.Context, scene.Song) error { return nil }

// song is four loops of pink noise, or none.
type song struct {
	library *library
	about   scene.About
}

const loopFrames = 96000

func (s *song) Count(context.Context) (int, error) { return 4, nil }

func (s *song) Clip(ctx context.Context, i int) (drills.Clip, error) {
	if s.library.gate != nil {
		select {
		case <-s.library.gate:
		case <-ctx.Done():
			return drills.Clip{}, ctx.Err()
		}
	}
	if s.about.Title == "silence.wav" {
		return drills.Clip{}, errors.New("silence.wav: it is silent, or nearly so: choose another file")
	}
	return s.cut(i*480000, loopFrames, float64(i)), nil
}

func (s *song) cut(start, n int, deeper float64) drills.Clip {
	frames := make([]dsp.Frame, n)
	dsp.NewPink(48000, 11).Fill(frames)
	dsp.Gain(dsp.FromDB(-6 - deeper)).Process(frames)
	atS := float64(start) / 48000
	var stems []drills.Stem
	if s.library.stems {
		stems, frames = band(n)
	}
	return drills.Clip{
		Stems: stems,
		Loop:  drills.Loop{Material: s.about.Hash, StartFrame: start, Frames: n, RateHz: 48000}, Facts: measure.FactsOf(frames, 48000),
		Name: fmt.Sprintf("%s %d:%02d–%d:%02d", s.about.Title, int(atS)/60, int(atS)%60, int(atS+2)/60, int(atS+2)%60), Frames: frames,
	}
}

// band is four stems, and the sum of them.
func band(n int) (stems []drills.Stem, mix []dsp.Frame) {
	mix = make([]dsp.Frame, n)
	for i, name := range []string{"Kick", "Bass", "Guitar", "Lead vocal"} {
		frames := make([]dsp.Frame, n)
		dsp.NewPink(48000, uint64(i)).Fill(frames)
		for range 3 {
			among(frames, []float64{20, 120, 800, 800}[i], []float64{120, 500, 2500, 3500}[i])
		}
		for k := range frames {
			g := 0.1 * (0.3 + math.Exp(-float64(k%24000)/float64(4000*(i+1))))
			frames[k] = dsp.Frame{g * frames[k][0], g * frames[k][0]}
			mix[k][0] += frames[k][0]
			mix[k][1] += frames[k][1]
		}
		stems = append(stems, drills.Stem{
			Name: name, Role: drills.Role(strings.ToLower(name)), Facts: measure.FactsOf(frames, 48000),
			Traits: drills.Traits{OnsetsPerS: 2, Sustained: 0.5}, Load: func() ([]dsp.Frame, error) { return frames, nil },
		})
	}
	return stems, mix
}

// among leaves of a sound what lies about between two frequencies.
func among(frames []dsp.Frame, loHz, hiHz float64) {
	lo, hi := math.Exp(-2*math.Pi*loHz/48000), math.Exp(-2*math.Pi*hiHz/48000)
	var slow, fast dsp.Frame
	for k, f := range frames {
		for ch := range f {
			slow[ch] = f[ch] + lo*(slow[ch]-f[ch])
			fast[ch] = f[ch] + hi*(fast[ch]-f[ch])
			frames[k][ch] = 3 * (fast[ch] - slow[ch])
		}
	}
}

func (s *song) About() scene.About { return s.about }

func (s *song) Peaks(n int) []ui.Peak {
	peaks := make([]ui.Peak, n)
	for i := range peaks {
		x := float64(i) / float64(n)
		level := float32((0.3 + 0.6*math.Abs(math.Sin(9*x))) * (0.4 + 0.6*math.Exp(-3*math.Mod(48*x, 1))))
		peaks[i] = ui.Peak{Lo: -0.9 * level, Hi: level}
	}
	return peaks
}

func (s *song) Cut(_ context.Context, loS, hiS float64) (drills.Clip, error) {
	return s.cut(int(loS*48000), int((hiS-loS)*48000), 0), nil
}

func (s *song) Sheet() (scene.Sheet, bool) {
	s.library.mu.Lock()
	defer s.library.mu.Unlock()
	return s.library.sheet, !s.library.unready
}

func (s *song) Mixed(_ context.Context, faders []scene.Fader, loS, hiS float64) (drills.Clip, error) {
	return s.cut(int(loS*48000), int((hiS-loS)*48000), -faders[0].GainDB), nil
}

func (s *song) Decide(_ context.Context, sheet scene.Sheet) error {
	s.library.mu.Lock()
	defer s.library.mu.Unlock()
	s.library.sheet = sheet
	s.library.decided = append(s.library.decided, sheet)
	return nil
}

func (s *song) Intake(ctx context.Context, progress func(float64)) (scene.Intake, error) {
	progress(0.4)
	if s.library.gate != nil {
		<-ctx.Done()
		return scene.Intake{}, ctx.Err()
	}
	return s.library.found, nil
}

func (s *song) Close() {
	s.library.mu.Lock()
	defer s.library.mu.Unlock()
	s.library.released++
}

// sound notes what is asked of it.
type sound struct {
	log     []string
	levels  []float64
	sides   int
	loud    float64 // the greatest loudness played, LUFS
	problem error
	part    float64
}

func (s *sound) Play(rateHz float64, sides [][]dsp.Frame, side int) error {
	s.sides = len(sides)
	s.log = append(s.log, fmt.Sprintf("play %d of %d", side, len(sides)))
	for i, frames := range sides {
		if lufs := measure.IntegratedLUFS(frames, rateHz); i == 0 && len(s.log) == 1 || lufs > s.loud {
			s.loud = lufs
		}
	}
	return nil
}

func (s *sound) Switch(side int) { s.log = append(s.log, fmt.Sprintf("switch %d", side)) }

func (s *sound) Move(m scene.Motion) {
	s.log = append(s.log, [...]string{"restart", "pause", "resume", "silence"}[m])
}

func (s *sound) Replace(_ float64, sides [][]dsp.Frame, side int) error {
	s.log = append(s.log, fmt.Sprintf("replace %d of %d", side, len(sides)))
	return nil
}

func (s *sound) Heard() scene.Heard { return scene.Heard{Part: s.part, Problem: s.problem} }

func (s *sound) MakeNoise() error { return nil }

func (s *sound) PlayNoise() error {
	s.log = append(s.log, "noise")
	return nil
}

func (s *sound) SetLevelDB(levelDB float64) error {
	s.levels = append(s.levels, levelDB)
	return nil
}

// last is what was asked last.
func (s *sound) last() string {
	if len(s.log) == 0 {
		return ""
	}
	return s.log[len(s.log)-1]
}

// cards are two sound cards.
type cards struct {
	used []prefs.Prefs
	mu   sync.Mutex
}

func (c *cards) Cards(context.Context) ([]scene.Card, error) {
	return []scene.Card{
		{ID: "a", Name: "Desk interface", RatesHz: []float64{44100, 48000, 88200, 96000}, Default: true},
		{ID: "b", Name: "Laptop", RatesHz: []float64{48000}},
	}, nil
}

func (c *cards) Use(p prefs.Prefs) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.used = append(c.used, p)
	return nil
}

func (c *cards) Opened() scene.Opened {
	return scene.Opened{Name: "Desk interface", RateHz: 48000, PeriodFrames: 256, Periods: 2, LatencyMS: 10.67}
}

// folders are a few.
type folders struct{ chosen string }

func (f *folders) List(folder string) (string, []scene.Entry, error) {
	switch folder {
	case "", "/songs":
		return "/songs", []scene.Entry{
			{Name: "old", Folder: true}, {Name: "gone.wav", Aside: "31.0 MB"}, {Name: "letter.wav", Aside: "0.1 MB"},
			{Name: "night bus.wav", Aside: "55.3 MB"}, {Name: "silence.wav", Aside: "10.0 MB"}, {Name: "two rooms.flac", Aside: "24.1 MB"},
		}, nil
	case "/songs/old", "/":
		return folder, []scene.Entry{{Name: "songs", Folder: true}}, nil
	}
	return "", nil, fmt.Errorf("%s cannot be looked into: no such file or directory", folder)
}

func (f *folders) HasDialogue() bool { return f.chosen != "" }

func (f *folders) Dialogue(context.Context, string) (string, error) { return f.chosen, nil }
