//go:build linux

// Package windowtest sits down at the window as a listener does: a real
// display, real keys, a sound card that writes down what it is given.
package windowtest

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"strop/content/wav"
	"strop/drills"
	"strop/drills/sqlite"
	"strop/dsp"
	"strop/game/cli"
	"strop/game/desk"
)

// program is a window that runs.
type program struct {
	t      testing.TB
	cmd    *exec.Cmd
	mu     sync.Mutex
	stderr bytes.Buffer
	first  chan time.Duration // to the first frame
	done   chan struct{}
}

// start runs the window.
func start(t testing.TB, binary string, env []string, args ...string) *program {
	t.Helper()
	p := &program{t: t, cmd: exec.Command(binary, args...), first: make(chan time.Duration, 1), done: make(chan struct{})}
	p.cmd.Env = env
	out, err := p.cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(p.done)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if strings.HasPrefix(lines.Text(), "start to first frame") {
				p.first <- time.Since(began)
			}
			p.mu.Lock()
			fmt.Fprintln(&p.stderr, lines.Text())
			p.mu.Unlock()
		}
	}()
	t.Cleanup(func() { _ = p.cmd.Process.Kill() })
	return p
}

// wait waits for the end, and is what was said on the way.
func (p *program) wait() string {
	p.t.Helper()
	select {
	case <-p.done:
	case <-time.After(20 * time.Second):
		p.t.Fatal("the window does not end")
	}
	if err := p.cmd.Wait(); err != nil {
		p.t.Errorf("the window ended with %v: %s", err, p.stderr.String())
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.stderr.String()
}

// cpuTicks is the time of a processor that the window has taken, in hundredths
// of a second.
func (p *program) cpuTicks() (ticks float64) {
	p.t.Helper()
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.cmd.Process.Pid))
	if err != nil {
		p.t.Fatal(err)
	}
	fields := strings.Fields(string(stat[bytes.LastIndexByte(stat, ')')+1:]))
	var user, system float64
	if _, err := fmt.Sscan(fields[11]+" "+fields[12], &user, &system); err != nil {
		p.t.Fatal(err)
	}
	return user + system
}

// build makes the window's program.
func build(t testing.TB) string {
	t.Helper()
	binary := filepath.Join(t.TempDir(), "strop-window")
	if out, err := exec.Command("go", "build", "-o", binary, "strop/game").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return binary
}

// writeSong puts 24 s of pulsed pink noise into a folder.
func writeSong(t testing.TB, folder, name string) string {
	t.Helper()
	frames := make([]dsp.Frame, 24*rateHz)
	dsp.NewPink(rateHz, 11).Fill(frames)
	for i := range frames {
		decay := 0.05 + 0.3*math.Exp(-float64(i%(rateHz/2))/6000)
		frames[i][0] *= decay
		frames[i][1] *= decay
	}
	path := filepath.Join(folder, name)
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

// answers are what is answered, as it is typed; "" is given with the mouse.
var answers = []string{"3", "800", "2k5", "0", "", "5", "1", "4", "12k", "2"}

// A whole morning: first start, the level, a file opened, ten trials, summary,
// progress, quit; and the next one, with everything there. The records are
// those of the terminal, and what reached the sound card is what was rendered.
func TestMorning(t *testing.T) {
	screen := newDisplay(t)
	binary, home, data := build(t), t.TempDir(), t.TempDir()
	song := writeSong(t, home, "night bus.wav")
	dir, card := newCard(t)
	env := append(environment(t, screen, home, data), card...)

	p := start(t, binary, env, "--drill", "eq-band", "--seed", "42", "--trials", "10", "--times", "--screen", "1280x800")
	screen.await("How loud do you work?")
	t.Logf("start to first frame: %v", (<-p.first).Round(time.Millisecond))
	screen.press("space", "End") // the noise, and up to where everything is as rendered
	time.Sleep(4 * time.Second)
	screen.picture("level.png")
	screen.press("Return")
	screen.await("Ready for 10 trials?")
	screen.press("m")
	screen.await("Material")
	screen.press("o")
	screen.await("Open a file")
	screen.press("Return")
	screen.await("Material")
	screen.press("Escape")
	screen.await("Ready for 10 trials?")
	awaitMaterial(t, data, "night bus.wav")
	t.Logf("idle: %.1f %% of a processor, sound card and all", idle(p))
	for i, a := range answers {
		answer(screen, i, a)
	}
	_, title := screen.await("of 10 trials right")
	screen.picture("summary.png")
	screen.press("p")
	screen.await("Progress")
	screen.picture("progress.png")
	screen.press("Escape")
	screen.await("10 trials answered today")
	screen.press("ctrl+q")
	t.Log(strings.TrimSpace(p.wait()))

	records := recordsIn(t, filepath.Join(data, "strop"))
	compare(t, records, inTerminal(t, song))
	if right := fmt.Sprintf("%d of 10 trials right.", countRight(records)); !strings.HasPrefix(title, right) {
		t.Errorf("the summary says %q, the records %q", title, right)
	}
	checkSound(t, captured(t, dir), song)

	p = start(t, binary, env, "--drill", "eq-band", "--seed", "43")
	screen.await("10 trials answered today")
	time.Sleep(time.Second) // until the window has the keyboard
	screen.press("Return")
	window, _ := screen.await("was")
	if g := screen.xdo("getwindowgeometry", window); !strings.Contains(g, "1280x800") {
		t.Errorf("the size was forgotten: %s", g)
	}
	screen.press("2", "Return")
	screen.await("Right. ", "Wrong. ")
	if err := p.cmd.Process.Signal(syscall.SIGKILL); err != nil { // in the middle of a sitting
		t.Fatal(err)
	}
	<-p.done
	if got := recordsIn(t, filepath.Join(data, "strop")); len(got) != 11 {
		t.Errorf("%d records after it was killed, want 11", len(got))
	} else if got[10].Trial.Loop.Material != records[0].Trial.Loop.Material {
		t.Error("the second morning was practised on another song")
	}
}

// environment is all that a window gets from outside.
func environment(t testing.TB, screen *display, home, data string) []string {
	return []string{
		"DISPLAY=" + screen.name, "LIBGL_ALWAYS_SOFTWARE=1", "HOME=" + home, "XDG_DATA_HOME=" + data,
		"XDG_RUNTIME_DIR=" + t.TempDir(), "PATH=" + os.Getenv("PATH"),
	}
}

// answer hears all sides and answers trial i.
func answer(screen *display, i int, a string) {
	screen.t.Helper()
	if i == 0 {
		screen.press("Return")
	}
	window, _ := screen.await("Which band was")
	time.Sleep(700 * time.Millisecond) // untouched
	screen.press("c")
	time.Sleep(300 * time.Millisecond)
	screen.press("u", "c")
	if a == "" {
		screen.click(window, image.Pt(350, 420)) // the ruler, where the first band is
	}
	for _, r := range a {
		screen.press(string(r))
	}
	screen.press("Return")
	screen.await("Right. ", "Wrong. ")
	screen.picture(fmt.Sprintf("trial %d.png", i+1))
	time.Sleep(300 * time.Millisecond) // changed
	screen.press("m")
	time.Sleep(500 * time.Millisecond)
	screen.press("Return")
}

// awaitMaterial waits until a song was taken.
func awaitMaterial(t testing.TB, data, name string) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		db, err := sqlite.Open(desk.HistoryPath(filepath.Join(data, "strop")))
		if err != nil {
			t.Fatal(err)
		}
		last, _, err := db.LastMaterial(t.Context())
		if err = errors.Join(err, db.Close()); err != nil {
			t.Fatal(err)
		}
		if last.Title == name {
			return
		}
	}
	t.Fatal("the song was not taken")
}

// idle measures what the window costs while nothing happens, in hundredths of
// a processor.
func idle(p *program) float64 {
	p.t.Helper()
	time.Sleep(time.Second) // until what came before is done
	before := p.cpuTicks()
	time.Sleep(3 * time.Second)
	return (p.cpuTicks() - before) / 3
}

func recordsIn(t testing.TB, dataDir string) []drills.Record {
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

// inTerminal is the records of the same sitting in the terminal.
func inTerminal(t testing.TB, song string) []drills.Record {
	t.Helper()
	dir, script := t.TempDir(), ""
	for _, a := range answers {
		if a == "" {
			a = "1"
		}
		script += "c\nu\nc\n" + a + "\nm\n\n"
	}
	code := cli.Main([]string{"text", "--silent", "--seed", "42", "--trials", "10", "--material", song}, cli.Env{
		Stdin: strings.NewReader(script), Stdout: io.Discard, Stderr: os.Stderr, DataDir: dir, Clock: time.Now,
	})
	if code != 0 {
		t.Fatalf("the terminal ended with %d", code)
	}
	return recordsIn(t, dir)
}

// compare holds two sittings to each other in all but when they were and how
// long they took.
func compare(t testing.TB, window, terminal []drills.Record) {
	t.Helper()
	if len(window) != len(answers) || len(terminal) != len(answers) {
		t.Fatalf("%d records in the window, %d in the terminal", len(window), len(terminal))
	}
	for i, w := range window {
		if w.Answer.TookS < 1 || w.Answer.TookS > 30 {
			t.Errorf("trial %d took %g s", i+1, w.Answer.TookS)
		}
		w.At, w.Trial.Session, w.Answer.TookS = terminal[i].At, terminal[i].Trial.Session, terminal[i].Answer.TookS
		if !reflect.DeepEqual(w, terminal[i]) {
			t.Errorf("trial %d:\nwindow   %+v\nterminal %+v", i+1, w, terminal[i])
		}
	}
}

func countRight(records []drills.Record) (n int) {
	for _, r := range records {
		if r.Score.Right {
			n++
		}
	}
	return n
}

// checkSound finds every side of every trial in what reached the card, to the
// last bit, in the order of the trials.
func checkSound(t testing.TB, played [][2]float32, song string) {
	t.Helper()
	found, unknown := recognise(played, sidesOf(t, song))
	times, trial := map[heard]int{}, 0
	for _, may := range found {
		next := len(answers)
		for _, h := range may {
			if h.trial >= trial {
				next = min(next, h.trial)
			}
		}
		if trial = next; trial == len(answers) {
			t.Fatalf("%v was heard after later trials", may)
		}
		for _, h := range may {
			if h.trial == trial {
				times[h]++
			}
		}
	}
	for trial := range answers {
		for side, name := range []string{"untouched", "changed", "mine"} {
			if times[heard{trial, side}] == 0 {
				t.Errorf("trial %d: %s did not reach the card as it was rendered", trial+1, name)
			}
		}
	}
	t.Logf("%d blocks of %d frames reached the card as they were rendered, %d others were noise, fades and switches", len(found), block, unknown)
}

// sidesOf renders the sitting once more, on the side.
func sidesOf(t testing.TB, path string) map[heard][]dsp.Frame {
	t.Helper()
	d, err := desk.Open(t.TempDir(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	song, err := d.OpenSong(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer song.Close()
	sitting, err := d.Sit(t.Context(), song, desk.Wish{
		Tool: "eq-band", Trials: len(answers), Seed: 42, Condition: drills.Condition{Transducer: "unstated", Heard: "mix"},
	})
	if err != nil {
		t.Fatal(err)
	}
	sides := map[heard][]dsp.Frame{}
	for i, a := range answers {
		round, err := sitting.Next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if a == "" {
			a = "1"
		}
		guess, err := sitting.Read(a)
		if err != nil {
			t.Fatal(err)
		}
		o, err := sitting.Answer(t.Context(), drills.Given{Guess: guess})
		if err != nil {
			t.Fatal(err)
		}
		sides[heard{i, 0}], sides[heard{i, 1}], sides[heard{i, 2}] = round.Untouched, round.Changed, o.Mine
	}
	return sides
}
