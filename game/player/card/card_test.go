//go:build cgo && linux

package card

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"github.com/gen2brain/malgo"
	"github.com/gopxl/beep/v2"

	"strop/dsp"
	"strop/game/player"
)

const (
	rateHz   = 48000
	paceInto = "STROP_TEST_PACE_INTO" // the folder that this binary, as a sound card, writes to
)

// The tests play to a sound card that is this very binary: ALSA's file plug-in
// pipes to it what reaches the device, it takes that at the pace of a card, and
// writes it down.
func TestMain(m *testing.M) {
	if dir := os.Getenv(paceInto); dir != "" {
		if err := pace(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// pace copies frames from standard input to a file named after the process,
// no faster than a card at 48 kHz would.
func pace(dir string) error {
	const frameBytes, setPipeSize = 8, 1031
	_, _, _ = syscall.Syscall(syscall.SYS_FCNTL, 0, setPipeSize, 4096) // else it holds 170 ms
	out, err := os.Create(filepath.Join(dir, strconv.Itoa(os.Getpid())))
	if err != nil {
		return err
	}
	var ms [rateHz / 1000 * frameBytes]byte
	for due := time.Now(); ; due = due.Add(time.Millisecond) {
		n, err := io.ReadFull(os.Stdin, ms[:])
		if _, failed := out.Write(ms[:n]); failed != nil {
			return failed
		}
		if err != nil {
			return out.Close()
		}
		time.Sleep(time.Until(due))
	}
}

var alsa = []malgo.Backend{malgo.BackendAlsa}

// usePaced makes this binary the system's default card, and names the folder
// where it writes what it is given.
func usePaced(t *testing.T) (dir string) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir = t.TempDir()
	useALSA(t, fmt.Sprintf(`
pcm.default { type plug slave.pcm "captured" }
pcm.captured { type file slave.pcm "nowhere" file "| GORACE=atexit_sleep_ms=0 %s='%s' exec '%s'" format "raw" }
pcm.nowhere { type null }
`, paceInto, dir, self))
	return dir
}

func opened(t *testing.T, cfg Config) *Card {
	t.Helper()
	c, err := open(cfg, alsa)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// useALSA makes text the whole configuration of ALSA.
func useALSA(t *testing.T, text string) {
	t.Helper()
	system, err := malgo.InitContext(alsa, malgo.ContextConfig{}, nil)
	if err != nil {
		t.Skip("needs ALSA's library, libasound.so.2, of the Debian package libasound2")
	}
	release(system)
	path := filepath.Join(t.TempDir(), "asound.conf")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("ALSA_CONFIG_PATH", path)
	t.Setenv("HOME", filepath.Dir(path))
}

// listener is a source that plays a Player, asks it for things on the way, and
// notes the frame at which it did. After some frames it has had enough.
type listener struct {
	*player.Player
	asks   []ask
	pulled int
	enough int
	leave  func()
}

type ask struct {
	at int
	do func(*player.Player) error
}

func (l *listener) Stream(samples [][2]float64) (int, bool) {
	for i := range l.asks {
		if a := &l.asks[i]; a.at >= l.pulled && a.at < l.pulled+len(samples) {
			a.at = l.pulled
			_ = a.do(l.Player)
		}
	}
	l.pulled += len(samples)
	if l.pulled >= l.enough {
		l.leave()
	}
	return l.Player.Stream(samples)
}

func noise(n, sides int) *player.Program {
	p := &player.Program{RateHz: rateHz}
	for i := range sides {
		side := make([]dsp.Frame, n)
		dsp.NewWhite(uint64(i)).Fill(side)
		dsp.Gain(0.2).Process(side)
		p.Sides = append(p.Sides, side)
	}
	return p
}

func session(program *player.Program) []ask {
	switchTo := func(side int) func(*player.Player) error {
		return func(p *player.Player) error { return p.Switch(side) }
	}
	return []ask{
		{0, func(p *player.Player) error { return p.Play(program, 0) }},
		{54000, switchTo(1)},
		{60000, switchTo(2)},
		{60300, switchTo(0)},
		{70000, func(p *player.Player) error { return p.SetLevelDB(-6) }},
		{80000, func(p *player.Player) error { p.Pause(); return nil }},
		{84000, func(p *player.Player) error { p.Resume(); return nil }},
		{90000, func(p *player.Player) error { p.Stop(); return nil }},
	}
}

func newPlayer(t *testing.T) *player.Player {
	t.Helper()
	p, err := player.New(rateHz, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// rendered is what a Player yields for the same requests at the same frames,
// written to a file in blocks of another size.
func rendered(t *testing.T, asks []ask, n int) []float32 {
	t.Helper()
	p := newPlayer(t)
	var all []float32
	keep := func(block []dsp.Frame) error {
		for _, f := range block {
			all = append(all, float32(f[0]), float32(f[1]))
		}
		return nil
	}
	for i, a := range asks {
		if err := a.do(p); err != nil {
			t.Fatal(err)
		}
		next := n
		if i+1 < len(asks) {
			next = asks[i+1].at
		}
		if err := player.Render(keep, p, next-a.at); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// captured is what reached the device, and the process that was it.
func captured(t *testing.T, dir string) (samples []float32, pid int) {
	t.Helper()
	for _, entry := range entries(t, dir) {
		data, err := os.ReadFile(filepath.Join(dir, entry))
		if err != nil {
			t.Fatal(err)
		}
		if len(data)/4 > len(samples) {
			samples = make([]float32, len(data)/4)
			for i := range samples {
				samples[i] = math.Float32frombits(binary.LittleEndian.Uint32(data[4*i:]))
			}
			pid, _ = strconv.Atoi(entry)
		}
	}
	return samples, pid
}

func entries(t *testing.T, dir string) (names []string) {
	t.Helper()
	all, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range all {
		names = append(names, e.Name())
	}
	return names
}

// What reached the device is what was rendered: every float, in order, none
// missing, through switches, a pause and a change of level.
func TestCapture(t *testing.T) {
	dir := usePaced(t)
	c := opened(t, Config{RateHz: rateHz})
	if c.RateHz() != rateHz {
		t.Fatalf("opened at %g Hz", c.RateHz())
	}
	ctx, cancel := context.WithCancel(t.Context())
	l := &listener{Player: newPlayer(t), asks: session(noise(30000, 3)), enough: 100000, leave: cancel}
	started := time.Now()
	if err := c.Run(ctx, l); err != nil {
		t.Fatal(err)
	}
	took := time.Since(started)
	if err := c.Close(); err != nil {
		t.Fatal(err)
	}
	got, _ := captured(t, dir)
	want := rendered(t, l.asks, l.pulled)
	if len(got) > len(want) || len(got) < len(want)-2*4096 {
		t.Fatalf("%d samples reached the device, %d were rendered", len(got), len(want))
	}
	sounding := 0
	for i := range got {
		if got[i] != want[i] {
			t.Fatalf("sample %d: %g reached the device, %g was rendered", i, got[i], want[i])
		}
		if got[i] != 0 {
			sounding++
		}
	}
	if sounding < 160000 {
		t.Errorf("only %d samples are not silent", sounding)
	}
	period, periods := c.Buffer()
	t.Logf("%d frames in %v; buffer %d x %d, %.1f ms", len(got)/2, took, periods, period, c.LatencyMS())
}

// playing is a Player in the middle of noise.
func playing(t *testing.T) *player.Player {
	t.Helper()
	p := newPlayer(t)
	if err := p.Play(noise(30000, 1), 0); err != nil {
		t.Fatal(err)
	}
	return p
}

// kill ends or freezes the process that is the card, as if it were unplugged.
func kill(t *testing.T, pid int, sig syscall.Signal) {
	t.Helper()
	if pid == 0 {
		t.Fatal("nothing has reached the card yet")
	}
	if err := syscall.Kill(pid, sig); err != nil {
		t.Fatal(err)
	}
}

// A card that takes no more sound is an error, and the Player is free to go on
// elsewhere, though the card still hangs.
func TestFrozen(t *testing.T) {
	dir := usePaced(t)
	c, p := opened(t, Config{RateHz: rateHz}), playing(t)
	failed := make(chan error, 1)
	go func() { failed <- c.Run(t.Context(), p) }()
	time.Sleep(500 * time.Millisecond)
	_, pid := captured(t, dir)
	kill(t, pid, syscall.SIGSTOP)
	defer kill(t, pid, syscall.SIGKILL)
	select {
	case err := <-failed:
		if !errors.Is(err, errStalled) {
			t.Errorf("Run: %v", err)
		}
	case <-time.After(10 * time.Second):
		t.Fatal("Run does not notice")
	}
	before := p.Position()
	p.Stream(make([]dsp.Frame, 100))
	if p.Position() != (before+100)%30000 || !p.Sounding() {
		t.Errorf("from %d to %d, sounding %v", before, p.Position(), p.Sounding())
	}
	if c.Close() == nil {
		t.Error("a card that hangs is closed as if nothing were wrong")
	}
}

// A card is unplugged while it plays, and is there again: a sentence, silence
// in which the music moves on, and sound that comes in quietly.
func TestUnplugged(t *testing.T) {
	dir := usePaced(t)
	f := player.NewFallback(func() (player.Output, error) {
		c, err := open(Config{RateHz: rateHz}, alsa)
		if err != nil {
			return nil, err
		}
		return c, nil
	}, rateHz, 500*time.Millisecond)
	p := playing(t)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- f.Run(ctx, p) }()
	time.Sleep(500 * time.Millisecond)
	_, first := captured(t, dir)
	kill(t, first, syscall.SIGKILL)
	await(t, "the loss is told", func() bool { return f.Err() != nil })
	before := p.Position()
	await(t, "the music moves on", func() bool { return p.Position() != before })
	await(t, "the card is back", func() bool { return f.Err() == nil })
	time.Sleep(900 * time.Millisecond)
	cancel()
	if err := <-done; err != nil {
		t.Error(err)
	}
	if err := f.Close(); err != nil {
		t.Error(err)
	}
	if err := os.Remove(filepath.Join(dir, strconv.Itoa(first))); err != nil {
		t.Fatal(err)
	}
	got, _ := captured(t, dir)
	if start, later := peak(got[:4800]), peak(got[len(got)-4800:]); !(start < 0.01) || !(later > 0.1) {
		t.Errorf("comes back at %.4f and goes on at %.4f", start, later)
	}
}

func await(t *testing.T, what string, done func() bool) {
	t.Helper()
	for range 1000 {
		if done() {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("10 s, and not yet: %s", what)
}

func peak(samples []float32) float32 {
	var p float32
	for _, s := range samples {
		p = max(p, s, -s)
	}
	return p
}

func TestNoCard(t *testing.T) {
	useALSA(t, "pcm.other { type null }\n")
	if c, err := open(Config{RateHz: rateHz}, alsa); err == nil || c != nil || !strings.Contains(err.Error(), "connect one") {
		t.Errorf("opened %v, %v", c, err)
	}
}

// desk is a card of one rate, and booth one of another.
const desk = `
pcm.!default { type plug slave { pcm "nowhere" rate 48000 } hint { show on description "The default" } }
pcm.desk { type plug slave { pcm "nowhere" rate 48000 } hint { show on description "Desk" } }
pcm.booth { type plug slave { pcm "nowhere" rate 44100 } hint { show on description "Booth" } }
pcm.null { type null hint { show on description "Discard all samples" } }
pcm.nowhere { type null }
`

func TestDevices(t *testing.T) {
	useALSA(t, desk)
	all, err := devices(alsa)
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 3 {
		t.Fatalf("%d devices, want 3: %+v", len(all), all)
	}
	for i, name := range []string{"The default", "Desk", "Booth"} {
		if d := all[i]; d.Name != name || d.Default != (i == 0) || !slices.Contains(d.RatesHz, rateHz) {
			t.Errorf("%+v, want %s", d, name)
		}
		byID, err := open(Config{Device: all[i].ID, RateHz: rateHz}, alsa)
		if err != nil {
			t.Errorf("%s by its ID: %v", name, err)
			continue
		}
		if byID.Name() != name {
			t.Errorf("%s by its ID is %s", name, byID.Name())
		}
		_ = byID.Close()
	}
}

func TestChoice(t *testing.T) {
	useALSA(t, desk)
	for _, c := range []struct {
		device           string
		wantedHz, rateHz float64
	}{
		{"Desk", 48000, 48000}, {"Desk", 44100, 48000}, {"Booth", 44100, 44100}, {"Booth", 96000, 44100}, {"", 44100, 48000},
	} {
		card, err := open(Config{Device: c.device, RateHz: c.wantedHz}, alsa)
		if err != nil {
			t.Errorf("%s: %v", c.device, err)
			continue
		}
		if card.RateHz() != c.rateHz {
			t.Errorf("%s: at %g Hz, want %g", c.device, card.RateHz(), c.rateHz)
		}
		if period, periods := card.Buffer(); card.Name() == "" || period != DefaultPeriodFrames || periods != DefaultPeriods {
			t.Errorf("%s: %q, buffer %d x %d", c.device, card.Name(), periods, period)
		}
		if err := card.Close(); err != nil {
			t.Error(err)
		}
	}
	if _, err := open(Config{RateHz: rateHz, Device: "Nobody's interface"}, alsa); err == nil ||
		!strings.Contains(err.Error(), `"Nobody's interface" is not there`) {
		t.Errorf("an unknown device: %v", err)
	}
}

func TestConfigRefuses(t *testing.T) {
	for _, c := range []Config{
		{}, {RateHz: math.NaN()}, {RateHz: 1e6}, {RateHz: 48000, PeriodFrames: 16}, {RateHz: 48000, PeriodFrames: -1},
		{RateHz: 48000, Periods: 1}, {RateHz: 48000, Periods: 17},
	} {
		if _, err := Open(c); err == nil {
			t.Errorf("%+v is opened", c)
		}
	}
}

// quitter is a source that ends after three frames.
type quitter struct{}

func (quitter) Err() error { return nil }
func (quitter) Stream(samples [][2]float64) (int, bool) {
	for i := range samples {
		samples[i] = dsp.Frame{1, -1}
	}
	return min(3, len(samples)), true
}

func TestFill(t *testing.T) {
	c := &Card{}
	out := make([]byte, 8*1000)
	samples := unsafe.Slice((*float32)(unsafe.Pointer(&out[0])), 2000)
	var src beep.Streamer = quitter{}
	c.source.Store(&src)
	samples[1999] = 7
	c.fill(out, nil, 1000)
	if samples[4] != 1 || samples[5] != -1 || samples[6] != 0 || samples[1999] != 0 {
		t.Errorf("%v … %v", samples[:8], samples[1999])
	}
	src = playing(t)
	c.source.Store(&src)
	if n := testing.AllocsPerRun(100, func() { c.fill(out, nil, 1000) }); n != 0 {
		t.Errorf("%g allocations a block", n)
	}
	c.detach()
	c.fill(out, nil, 1000)
	if peak(samples) != 0 {
		t.Error("sounds after its source was taken away")
	}
}

func BenchmarkFill(b *testing.B) {
	c := &Card{}
	out := make([]byte, 8*256)
	p, err := player.New(rateHz, nil)
	if err != nil {
		b.Fatal(err)
	}
	if err := p.Play(noise(480000, 1), 0); err != nil {
		b.Fatal(err)
	}
	p.Stream(make([]dsp.Frame, rateHz))
	var src beep.Streamer = p
	c.source.Store(&src)
	for b.Loop() {
		c.fill(out, nil, 256)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*256), "ns/frame")
}
