package player_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
	"strop/game/player"
)

const (
	rateHz = 48000.0
	fade   = 240   // 5 ms of it
	swell  = 2400  // 50 ms
	first  = 48000 // 1 s
)

// steady is a program of n frames whose sides are constant, in each side at
// another value.
func steady(n int, values ...dsp.Frame) *player.Program {
	p := &player.Program{RateHz: rateHz, Seamless: true}
	for _, v := range values {
		side := make([]dsp.Frame, n)
		for i := range side {
			side[i] = v
		}
		p.Sides = append(p.Sides, side)
	}
	return p
}

func newPlayer(t testing.TB, limiter dsp.Processor) *player.Player {
	t.Helper()
	p, err := player.New(rateHz, limiter)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func play(t testing.TB, p *player.Player, program *player.Program, side int) {
	t.Helper()
	if err := p.Play(program, side); err != nil {
		t.Fatal(err)
	}
}

func switchTo(t testing.TB, p *player.Player, side int) {
	t.Helper()
	if err := p.Switch(side); err != nil {
		t.Fatal(err)
	}
}

func pull(p *player.Player, n int) []dsp.Frame {
	out := make([]dsp.Frame, n)
	p.Stream(out)
	return out
}

// settled is a player that plays a program and is past its swell.
func settled(t testing.TB, program *player.Program, limiter dsp.Processor) *player.Player {
	t.Helper()
	p := newPlayer(t, limiter)
	play(t, p, program, 0)
	pull(p, first)
	return p
}

// cosine is the ratio of a raised-cosine fade-in of n frames at its frame k, in
// the form of a squared sine: 0 before it, 1 after.
func cosine(k, n int) float64 {
	switch {
	case k < 0:
		return 0
	case k >= n:
		return 1
	}
	s := math.Sin(math.Pi * (float64(k) + 0.5) / (2 * float64(n)))
	return s * s
}

func near(t *testing.T, what string, k int, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-12 {
		t.Fatalf("%s, frame %d: %.15f, want %.15f", what, k, got, want)
	}
}

// ITU-R BS.1534-3: a loop begins and ends with a raised-cosine fade of 5 ms.
func TestLoopEnds(t *testing.T) {
	const n = 30000
	program := steady(n, dsp.Frame{1, -0.5})
	program.Seamless = false
	p := settled(t, program, nil)
	pull(p, 2*n-first)
	for k, f := range pull(p, 2*n) {
		want := cosine(min(k%n, n-1-k%n), fade)
		near(t, "left", k, f[0], want)
		near(t, "right", k, f[1], -want/2)
	}
}

// The seam of a seamless loop is not to be heard.
func TestSeamless(t *testing.T) {
	p := settled(t, steady(30000, dsp.Frame{1, 1}), nil)
	for k, f := range pull(p, 60000) {
		near(t, "frame", k, f[0], 1)
	}
}

// ramps is a program whose left channel counts the frames in side 0 and is
// silent in side 1, whose right channel the reverse: what is heard tells the
// side and the place.
func ramps(n int) *player.Program {
	p := &player.Program{RateHz: rateHz, Sides: [][]dsp.Frame{make([]dsp.Frame, n), make([]dsp.Frame, n)}, Seamless: true}
	for i := range n {
		v := float64(i+1) / float64(n)
		p.Sides[0][i], p.Sides[1][i] = dsp.Frame{v, 0}, dsp.Frame{0, v}
	}
	return p
}

// ITU-R BS.1534-3: a switch is 5 ms out and 5 ms in, at the same place in the
// loop, and never a cross-fade. Here it happens across the end of the loop.
func TestSwitch(t *testing.T) {
	const n, before = 24000, 100
	p := settled(t, ramps(n), nil)
	pull(p, n-before)
	switchTo(t, p, 1)
	for k, f := range pull(p, 1000) {
		ramp := float64((n-before+k)%n+1) / n
		near(t, "going", k, f[0], ramp*cosine(fade-1-k, fade))
		near(t, "coming", k, f[1], ramp*cosine(k-fade, fade))
	}
	if p.Side() != 1 || p.Position() != 1000-before {
		t.Errorf("side %d at %d, want side 1 at %d", p.Side(), p.Position(), 1000-before)
	}
}

// A switch back before the old side has gone turns round where it is; of two
// switches within one fade only the last is heard.
// A program that takes another's place goes on where that one was, as a side
// does; one of another length starts from its top.
func TestReplaceKeepsThePlace(t *testing.T) {
	const n, before = 24000, 100
	p := settled(t, ramps(n), nil)
	pull(p, n-before)
	if err := p.Replace(ramps(n), 1); err != nil {
		t.Fatal(err)
	}
	for k, f := range pull(p, 1000) {
		ramp := float64((n-before+k)%n+1) / n
		near(t, "going", k, f[0], ramp*cosine(fade-1-k, fade))
		near(t, "coming", k, f[1], ramp*cosine(k-fade, fade))
	}
	if p.Side() != 1 || p.Position() != 1000-before {
		t.Errorf("side %d at %d, want side 1 at %d", p.Side(), p.Position(), 1000-before)
	}
	if err := p.Replace(ramps(n+48), 0); err != nil {
		t.Fatal(err)
	}
	pull(p, fade+100)
	if p.Side() != 0 || p.Position() != 100 {
		t.Errorf("another length: side %d at %d, want side 0 at 100", p.Side(), p.Position())
	}
	if err := newPlayer(t, nil).Replace(ramps(n), 7); err == nil {
		t.Error("a side that is not there was taken")
	}
}

func TestSwitchFasterThanTheFade(t *testing.T) {
	p := settled(t, steady(24000, dsp.Frame{1}, dsp.Frame{2}, dsp.Frame{3}), nil)
	switchTo(t, p, 1)
	pull(p, 100)
	switchTo(t, p, 0)
	for k, f := range pull(p, 200) {
		near(t, "turned round", k, f[0], cosine(fade-100+k, fade))
	}
	switchTo(t, p, 1)
	pull(p, 100)
	switchTo(t, p, 2)
	for k, f := range pull(p, 600) {
		near(t, "the last of two", k, f[0], cosine(139-k, fade)+3*cosine(k-140, fade))
	}
	if p.Side() != 2 {
		t.Errorf("side %d, want 2", p.Side())
	}
	switchTo(t, p, 1)
	pull(p, fade)
	switchTo(t, p, 0) // in the very moment of silence
	for k, f := range pull(p, 600) {
		near(t, "out of silence", k, f[0], cosine(k, fade))
	}
}

// The first sound comes in over 1 s, the next program over 50 ms, and after a
// stop it is 1 s again.
func TestStartsQuiet(t *testing.T) {
	p := newPlayer(t, nil)
	rise := func(what string, n int) {
		t.Helper()
		for k, f := range pull(p, first) {
			near(t, what, k, f[0], cosine(k, n))
		}
	}
	one := steady(24000, dsp.Frame{1})
	play(t, p, one, 0)
	rise("first", first)
	play(t, p, one, 0)
	for k, f := range pull(p, fade) {
		near(t, "replaced", k, f[0], cosine(fade-1-k, fade))
	}
	rise("second", swell)
	p.Stop()
	pull(p, fade)
	if p.Sounding() || p.Side() != -1 {
		t.Errorf("sounding %v, side %d after a stop", p.Sounding(), p.Side())
	}
	play(t, p, one, 0)
	rise("after a stop", first)
	p.Ease()
	rise("eased in", first)
}

func TestPauseHoldsThePlace(t *testing.T) {
	const n = 96000
	p := settled(t, ramps(n), nil)
	p.Pause()
	pull(p, 1000)
	if p.Position() != first+fade || p.Sounding() || p.Side() != 0 {
		t.Fatalf("paused at %d, sounding %v, side %d", p.Position(), p.Sounding(), p.Side())
	}
	for k, f := range pull(p, 1000) {
		near(t, "paused", k, f[0], 0)
	}
	switchTo(t, p, 1)
	pull(p, 1)
	if p.Side() != 1 {
		t.Errorf("side %d held, want 1", p.Side())
	}
	p.Resume()
	for k, f := range pull(p, 4000) {
		near(t, "resumed", k, f[1], float64(first+fade+k+1)/n*cosine(k, swell))
	}
}

func TestLevel(t *testing.T) {
	p := settled(t, steady(24000, dsp.Frame{1, 1}), nil)
	for _, db := range []float64{0.1, math.NaN(), math.Inf(1)} {
		if p.SetLevelDB(db) == nil {
			t.Errorf("SetLevelDB(%g) is silent", db)
		}
	}
	set := func(db, want float64, n int) {
		t.Helper()
		if err := p.SetLevelDB(db); err != nil {
			t.Fatal(err)
		}
		out := pull(p, 12000)
		near(t, "reached", n, out[n][0], want)
		if math.Abs(out[n/2][0]-want) < 1e-3 || out[11999][0] != want {
			t.Errorf("%g dB: %g on the way, %g at the end", db, out[n/2][0], out[11999][0])
		}
	}
	set(-20, 0.1, 960)
	set(math.Inf(-1), 0, 960)
	set(0, 1, 9600)
}

// echo is a processor with memory: half of what was 37 frames ago.
type echo struct {
	line [37]dsp.Frame
	at   int
}

func (e *echo) Reset()           { *e = echo{} }
func (e *echo) DelayFrames() int { return len(e.line) }
func (e *echo) Process(buf []dsp.Frame) {
	for i, f := range buf {
		buf[i][0] += e.line[e.at][0] / 2
		buf[i][1] += e.line[e.at][1] / 2
		e.line[e.at] = f
		e.at = (e.at + 1) % len(e.line)
	}
}

// A request is what a listener does at a frame.
type request struct {
	at int
	do func(p *player.Player) error
}

func noise(n, sides int, seed uint64) *player.Program {
	p := &player.Program{RateHz: rateHz}
	w := dsp.NewWhite(seed)
	for range sides {
		side := make([]dsp.Frame, n)
		w.Fill(side)
		p.Sides = append(p.Sides, side)
	}
	return p
}

func requests(programs []*player.Program) *rapid.Generator[[]request] {
	one := rapid.Custom(func(t *rapid.T) request {
		side := rapid.IntRange(0, 2).Draw(t, "side")
		program := programs[rapid.IntRange(0, len(programs)-1).Draw(t, "program")]
		db := -rapid.Float64Range(0, 40).Draw(t, "db")
		do := []func(p *player.Player) error{
			func(p *player.Player) error { return p.Play(program, side) },
			func(p *player.Player) error { _ = p.Switch(side); return nil }, // fails where nothing plays
			func(p *player.Player) error { _ = p.Switch(side); return nil },
			func(p *player.Player) error { p.Pause(); return nil },
			func(p *player.Player) error { p.Resume(); return nil },
			func(p *player.Player) error { p.Stop(); return nil },
			func(p *player.Player) error { return p.SetLevelDB(db) },
		}
		kind := rapid.IntRange(0, len(do)-1).Draw(t, "kind")
		return request{rapid.IntRange(0, 400).Draw(t, "later"), do[kind]}
	})
	return rapid.Custom(func(t *rapid.T) []request {
		all := append([]request{{0, func(p *player.Player) error { return p.Play(programs[0], 0) }}},
			rapid.SliceOfN(one, 0, 60).Draw(t, "requests")...)
		at := 0
		for i := range all {
			at += all[i].at
			all[i].at = at
		}
		return all
	})
}

// run plays n frames in blocks of the sizes that next gives, cut where a
// request comes.
func run(t require, p *player.Player, script []request, n int, next func() int) []dsp.Frame {
	out := make([]dsp.Frame, n)
	for done := 0; done < n; {
		for len(script) > 0 && script[0].at <= done {
			if err := script[0].do(p); err != nil {
				t.Fatalf("request at %d: %v", done, err)
			}
			script = script[1:]
		}
		size := min(next(), n-done)
		if len(script) > 0 {
			size = min(size, script[0].at-done)
		}
		if got, ok := p.Stream(out[done : done+size]); got != size || !ok {
			t.Fatalf("Stream of %d frames: %d, %v", size, got, ok)
		}
		done += size
	}
	return out
}

type require interface{ Fatalf(string, ...any) }

// Whatever is asked for, and however the blocks fall, the bits are the same.
func TestBlocksDoNotMatter(t *testing.T) {
	programs := []*player.Program{noise(24000, 3, 1), noise(25001, 3, 2)}
	rapid.Check(t, func(t *rapid.T) {
		script := requests(programs).Draw(t, "script")
		n := script[len(script)-1].at + 3000
		fresh := func() *player.Player {
			p, _ := player.New(rateHz, &echo{})
			return p
		}
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "sizes"), 0))
		whole := run(t, fresh(), script, n, func() int { return n })
		single := run(t, fresh(), script, n, func() int { return 1 })
		parts := run(t, fresh(), script, n, func() int { return r.IntN(600) })
		for k := range whole {
			if whole[k] != single[k] || whole[k] != parts[k] {
				t.Fatalf("frame %d: %v whole, %v one by one, %v in parts", k, whole[k], single[k], parts[k])
			}
		}
	})
}

// Whatever is asked for, there is no click and nothing gets louder: on sides
// that are constant, no step is larger than that of the steepest fade, and
// no frame is beyond the sides.
func TestNoClick(t *testing.T) {
	programs := []*player.Program{
		steady(24000, dsp.Frame{1, 0}, dsp.Frame{-1, 0}, dsp.Frame{0.5, 0}),
		steady(24001, dsp.Frame{-1, 0}, dsp.Frame{1, 0}, dsp.Frame{-0.5, 0}),
	}
	programs[1].Seamless = false
	const steepest = math.Pi / (2 * fade) // of a raised cosine
	limit := 2*steepest + math.Pi/(2*swell) + 1.0/960
	rapid.Check(t, func(t *rapid.T) {
		script := requests(programs).Draw(t, "script")
		p, _ := player.New(rateHz, nil)
		out := run(t, p, script, script[len(script)-1].at+3000, func() int { return 512 })
		last := 0.0
		for k, f := range out {
			if math.Abs(f[0]-last) > limit || math.Abs(f[0]) > 1 {
				t.Fatalf("frame %d: from %g to %g", k, last, f[0])
			}
			last = f[0]
		}
	})
}

// However fast the listener switches, the side asked for last is heard in
// full 10 ms after.
func TestLastSwitchWins(t *testing.T) {
	program := steady(24000, dsp.Frame{0.1}, dsp.Frame{0.2}, dsp.Frame{0.3})
	rapid.Check(t, func(rt *rapid.T) {
		p := settled(t, program, nil)
		side := 0
		for range rapid.IntRange(1, 30).Draw(rt, "switches") {
			side = rapid.IntRange(0, 2).Draw(rt, "side")
			switchTo(t, p, side)
			pull(p, rapid.IntRange(0, 300).Draw(rt, "frames"))
		}
		pull(p, 2*fade)
		if got := pull(p, 1)[0]; p.Side() != side || got != program.Sides[side][0] {
			rt.Fatalf("side %d at %v, want side %d", p.Side(), got, side)
		}
	})
}

func TestPlayRefuses(t *testing.T) {
	p := newPlayer(t, nil)
	if p.Switch(0) == nil {
		t.Error("a switch with nothing playing is silent")
	}
	good := steady(24000, dsp.Frame{1}, dsp.Frame{1})
	uneven := steady(24000, dsp.Frame{1}, dsp.Frame{1})
	uneven.Sides[1] = uneven.Sides[1][1:]
	otherRate := steady(24000, dsp.Frame{1})
	otherRate.RateHz = 44100
	holed := steady(24000, dsp.Frame{1})
	holed.Sides[0][23999][1] = math.NaN()
	for what, c := range map[string]struct {
		program *player.Program
		side    int
	}{
		"a side too many":  {good, 2},
		"a negative side":  {good, -1},
		"uneven sides":     {uneven, 0},
		"another rate":     {otherRate, 0},
		"a NaN":            {holed, 0},
		"an infinity":      {steady(24000, dsp.Frame{0, math.Inf(-1)}), 0},
		"a loop too short": {steady(23999, dsp.Frame{1}), 0},
		"no side":          {&player.Program{RateHz: rateHz}, 0},
		"nothing":          {nil, 0},
	} {
		if p.Play(c.program, c.side) == nil {
			t.Errorf("%s is played", what)
		}
	}
	if pull(p, 100)[99] != (dsp.Frame{}) || p.Sounding() {
		t.Error("something sounds after nothing but errors")
	}
	play(t, p, good, 1)
	if p.Switch(2) == nil || p.Switch(-1) == nil {
		t.Error("a switch to no side is silent")
	}
	if _, err := player.New(0, nil); err == nil {
		t.Error("a player at 0 Hz")
	}
}

func TestStreamDoesNotAllocate(t *testing.T) {
	p := settled(t, noise(24000, 2, 1), &echo{})
	buf := make([]dsp.Frame, 100)
	side := 0
	for what, ask := range map[string]func(){
		"playing":   func() {},
		"switching": func() { side = 1 - side; _ = p.Switch(side) },
		"pausing":   p.Pause,
		"resuming":  p.Resume,
	} {
		ask()
		if n := testing.AllocsPerRun(50, func() { p.Stream(buf) }); n != 0 {
			t.Errorf("%s: %g allocations a block", what, n)
		}
	}
}

// For the race detector: everything that may be asked, from several
// goroutines, while one pulls.
func TestConcurrently(t *testing.T) {
	p := newPlayer(t, nil)
	program := noise(24000, 3, 1)
	var listeners sync.WaitGroup
	for i := range 3 {
		listeners.Go(func() {
			for k := range 300 {
				_ = p.Play(program, i)
				_ = p.Switch(k % 3)
				_ = p.SetLevelDB(-float64(k))
				p.Pause()
				p.Resume()
				p.Ease()
				_, _, _, _ = p.Position(), p.Side(), p.Sounding(), p.LevelDB()
				if k == 200 {
					p.Stop()
				}
			}
		})
	}
	done := make(chan struct{})
	go func() { listeners.Wait(); close(done) }()
	for buf := make([]dsp.Frame, 64); ; p.Stream(buf) {
		select {
		case <-done:
			p.Stream(buf)
			if !p.Sounding() || p.Position() >= 24000 {
				t.Errorf("sounding %v at %d", p.Sounding(), p.Position())
			}
			return
		default:
		}
	}
}

func BenchmarkStream(b *testing.B) {
	buf := make([]dsp.Frame, 256)
	report := func(b *testing.B) {
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(buf)), "ns/frame")
	}
	b.Run("playing", func(b *testing.B) {
		p := settled(b, noise(480000, 2, 1), nil)
		for b.Loop() {
			p.Stream(buf)
		}
		report(b)
	})
	b.Run("at -10 dB", func(b *testing.B) {
		p := settled(b, noise(480000, 2, 1), nil)
		if err := p.SetLevelDB(-10); err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			p.Stream(buf)
		}
		report(b)
	})
	b.Run("switching all the time", func(b *testing.B) {
		p := settled(b, noise(480000, 2, 1), nil)
		side := 0
		for b.Loop() {
			side = 1 - side
			_ = p.Switch(side)
			p.Stream(buf)
		}
		report(b)
	})
	b.Run("silence", func(b *testing.B) {
		p := newPlayer(b, nil)
		for b.Loop() {
			p.Stream(buf)
		}
		report(b)
	})
}

// BenchmarkStartToFirstSound is the time from a program of 10 s and three
// sides that is ready to the first block with sound in it.
func BenchmarkStartToFirstSound(b *testing.B) {
	program := noise(480000, 3, 1)
	buf := make([]dsp.Frame, 256)
	for b.Loop() {
		p := newPlayer(b, nil)
		play(b, p, program, 0)
		p.Stream(buf)
		if buf[255] == (dsp.Frame{}) {
			b.Fatal("silence")
		}
	}
}
