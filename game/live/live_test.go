package live_test

import (
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"strop/content/wav"
	"strop/drills"
	"strop/drills/sqlite"
	"strop/dsp"
	"strop/game/cli"
	"strop/game/desk"
	"strop/game/live"
	"strop/game/prefs"
	"strop/game/scene"
	"strop/game/ui"
	"strop/game/ui/uitest"
)

// songFile is 24 s of pulsed pink noise as a WAV file.
func songFile(t *testing.T, name string) string {
	t.Helper()
	const rateHz = 48000
	frames := make([]dsp.Frame, 24*rateHz)
	dsp.NewPink(rateHz, 11).Fill(frames)
	for i := range frames {
		decay := 0.05 + 0.3*math.Exp(-float64(i%(rateHz/2))/6000)
		frames[i][0] *= decay
		frames[i][1] *= decay
	}
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := wav.NewWriter(f, wav.WriteFormat{RateHz: rateHz, Channels: 2, Sample: wav.Int24})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Write(frames), w.Close()); err != nil {
		t.Fatal(err)
	}
	return path
}

func clock() time.Time { return time.Date(2026, 3, 2, 7, 30, 0, 0, time.UTC) }

// sitting is a window without a window: a stage on a real desk.
type sitting struct {
	t     *testing.T
	desk  *desk.Desk
	live  *live.Live
	stage *scene.Stage
	state ui.State
}

func sit(t *testing.T, dataDir string, cfg live.Config) *sitting {
	t.Helper()
	d, err := desk.Open(dataDir, clock)
	if err != nil {
		t.Fatal(err)
	}
	cfg.Silent, cfg.Prefs = true, prefs.Default()
	if cfg.Wish.Tool == "" {
		cfg.Wish.Tool = "eq-band"
	}
	s := &sitting{t: t, desk: d, live: live.New(d, cfg)}
	s.stage = scene.New(s.live.World(), func() {})
	return s
}

func (s *sitting) close() {
	s.stage.Close()
	if err := errors.Join(s.live.Close(), s.desk.Close()); err != nil {
		s.t.Error(err)
	}
}

// await waits until the page says something.
func (s *sitting) await(page, text string) *sitting {
	s.t.Helper()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(time.Millisecond) {
		s.stage.Tick(time.Now())
		p := s.stage.Page()
		if p.Name == page && strings.Contains(p.Text(200), text) {
			return s
		}
		if time.Now().After(end) {
			s.t.Fatalf("waited for %s to say %q; it is\n%s", page, text, p.Text(100))
		}
	}
}

func (s *sitting) keys(keys ...string) *sitting {
	for _, k := range keys {
		e := ui.Event{Kind: ui.KeyDown, Key: ui.Key(k)}
		if len(k) == 1 {
			e = ui.Event{Kind: ui.Typed, Text: k}
		}
		var a ui.Action
		s.state, a = ui.Layout(s.stage.Page(), uitest.Sizes()[0], s.state, uitest.Fixed{}).Handle(e)
		if a.Kind != ui.Nothing {
			s.stage.Do(a)
		}
	}
	return s
}

func recordsIn(t *testing.T, dataDir string) []drills.Record {
	t.Helper()
	db, err := sqlite.Open(desk.HistoryPath(dataDir))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	records, err := db.Records(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	return records
}

// The same seed and the same answers give the same records in the window as in
// the terminal, to the last bit: trial, truth, loop, gains, answer, score.
func TestSameRecordsAsTheTerminal(t *testing.T) {
	song := songFile(t, "night bus.wav")
	for _, way := range []string{"five", "thirds", "free"} {
		t.Run(way, func(t *testing.T) {
			answers := []string{"3", "800", "2k5", "0", "12k", "5"}
			if way == "free" {
				answers = []string{"63", "800", "2k5", "0", "12k", "440"}
			}
			terminal, window := t.TempDir(), t.TempDir()
			inTerminal(t, terminal, song, way, answers)
			inWindow(t, window, song, way, answers)
			a, b := recordsIn(t, terminal), recordsIn(t, window)
			if len(a) != len(answers) || len(b) != len(answers) {
				t.Fatalf("%d records in the terminal, %d in the window", len(a), len(b))
			}
			for i := range a {
				if !reflect.DeepEqual(a[i], b[i]) {
					t.Errorf("trial %d:\nterminal %+v\nwindow   %+v", i+1, a[i], b[i])
				}
			}
		})
	}
}

func inTerminal(t *testing.T, dataDir, song, way string, answers []string) {
	t.Helper()
	script := ""
	for _, a := range answers {
		script += "c\nu\nc\n" + a + "\nm\n\n"
	}
	code := cli.Main([]string{"text", "--silent", "--seed", "42", "--trials", "6", "--way", way, "--material", song}, cli.Env{
		Stdin: strings.NewReader(script), Stdout: io.Discard, Stderr: os.Stderr, DataDir: dataDir, Clock: clock,
	})
	if code != 0 {
		t.Fatalf("exit code %d", code)
	}
}

func inWindow(t *testing.T, dataDir, song, way string, answers []string) {
	t.Helper()
	s := sit(t, dataDir, live.Config{Open: song, Wish: scene.Wish{Rung: way, Trials: 6, Seed: 42}})
	defer s.close()
	s.await("level", "").keys("enter").await("today", "EQ band").keys("enter")
	for _, a := range answers {
		s.await("drill", "").keys("c", "u", "c")
		for _, r := range a {
			s.keys(string(r))
		}
		s.keys("enter").await("feedback", "").keys("m", "enter")
	}
	s.await("summary", "6 trials")
}

// What was used last is there again, known by its content after it was moved,
// and the window remembers what was set.
func TestComingBack(t *testing.T) {
	dir, path := t.TempDir(), songFile(t, "night bus.wav")
	s := sit(t, dir, live.Config{Open: path})
	s.await("level", "").keys("enter").await("today", "night bus.wav").await("today", "48 kHz, 0:24")
	s.keys("s").await("settings", "").keys("tab", "tab", "tab", "right")
	s.close()

	s = sit(t, dir, live.Config{})
	s.await("today", "48 kHz, 0:24")
	if !s.stage.Prefs().Night {
		t.Error("the night was forgotten")
	}
	s.close()

	moved := filepath.Join(t.TempDir(), "later.wav")
	if err := os.Rename(path, moved); err != nil {
		t.Fatal(err)
	}
	s = sit(t, dir, live.Config{})
	defer s.close()
	s.await("today", "[Say where it is]").keys("tab", "enter").await("browse", "night bus.wav has moved.")
	s.stage.Do(ui.Action{Kind: ui.Submit, ID: "path", Text: moved})
	s.await("today", "later.wav")
}

// Every kind of file that is no material is one sentence that names it, in
// place, and what was there before can still be practised on.
func TestHostileMaterial(t *testing.T) {
	folder := t.TempDir()
	good, err := os.ReadFile(songFile(t, "song.wav"))
	if err != nil {
		t.Fatal(err)
	}
	head := good[:44]
	for name, data := range map[string][]byte{
		"empty.wav": nil, "text.wav": []byte("this is a letter, not a song\n"), "head.wav": good[:40],
		"silent.wav": append(append([]byte{}, head...), make([]byte, len(good)-44)...),
	} {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, data, 0o666); err != nil {
			t.Fatal(err)
		}
		s := sit(t, t.TempDir(), live.Config{})
		s.await("level", "").keys("enter").await("today", "Kettle Weather").await("today", "48 kHz")
		s.stage.Do(ui.Action{Kind: ui.Dropped, Paths: []string{path}})
		s.await("today", "! ").await("today", name).await("today", "Kettle Weather")
		s.keys("enter").await("drill", "Kettle Weather")
		s.close()
	}
}

// The overview of a song is its samples: no peak above what is in the file,
// none below, and the loudest is the file's.
func TestOverview(t *testing.T) {
	s := sit(t, t.TempDir(), live.Config{Open: songFile(t, "song.wav")})
	defer s.close()
	s.await("level", "").keys("enter").await("today", "48 kHz, 0:24").keys("m").await("material", "LUFS").await("material", "0:24")
	song, err := s.live.World().Library.Open(scene.Material{Path: songFile(t, "other.wav")})
	if err != nil {
		t.Fatal(err)
	}
	defer song.Close()
	if _, err := song.Count(t.Context()); err != nil {
		t.Fatal(err)
	}
	frames := make([]dsp.Frame, 24*48000)
	dsp.NewPink(48000, 11).Fill(frames)
	peaks := song.Peaks(48)
	for i, p := range peaks { // half a second each: one pulse
		want := 0.0 // at most 1: a WAV file of whole numbers holds no more
		for k, f := range frames[i*24000 : (i+1)*24000] {
			want = max(want, max(f[0], f[1])*(0.05+0.3*math.Exp(-float64(k)/6000)))
		}
		if want = min(want, 1); math.Abs(float64(p.Hi)-want) > 1e-3 { // buckets of 512 frames do not end where pulses do
			t.Errorf("stretch %d: %.4f, want %.4f", i, p.Hi, want)
		}
	}
}

// Folders are listed with what may be material; a folder that cannot be looked
// into is one sentence.
func TestFolders(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{"b.WAV", "a.flac", "letter.txt", ".hidden.wav"} {
		if err := os.WriteFile(filepath.Join(folder, name), make([]byte, 1500000), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(folder, "z"), 0o777); err != nil {
		t.Fatal(err)
	}
	s := sit(t, t.TempDir(), live.Config{})
	defer s.close()
	files := s.live.World().Folders
	path, entries, err := files.List(folder)
	want := []scene.Entry{{Name: "z", Folder: true}, {Name: "a.flac", Aside: "1.5 MB"}, {Name: "b.WAV", Aside: "1.5 MB"}}
	if err != nil || path != folder || !reflect.DeepEqual(entries, want) {
		t.Errorf("%v, %s: %v", err, path, entries)
	}
	if _, _, err := files.List(filepath.Join(folder, "none")); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("a folder that is not there: %v", err)
	}
	t.Setenv("DBUS_SESSION_BUS_ADDRESS", "")
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	if files.HasDialogue() {
		t.Error("without a session bus there is a dialogue")
	}
	t.Setenv("DBUS_SESSION_BUS_ADDRESS", "unix:path="+filepath.Join(folder, "no-bus"))
	if !files.HasDialogue() {
		t.Error("with the address of a bus there is no dialogue")
	}
	if _, err := files.Dialogue(t.Context(), "Open a song"); err == nil || files.HasDialogue() {
		t.Errorf("a bus that does not answer: %v, and it is asked again: %v", err, files.HasDialogue())
	}
}
