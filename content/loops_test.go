package content

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"strop/dsp"
)

const testRateHz = 48000

// band plays kick, snare, hats and bass at a tempo, with the timing errors of
// people (±4 ms) and a little noise. The first beat is at leadS.
func band(bpm, leadS, seconds float64, seed uint64) []dsp.Frame {
	r := rand.New(rand.NewPCG(seed, 7))
	frames := hiss(seconds, -60, seed)
	chords := []float64{55, 65.4, 49, 58.3}
	for eighth := 0; ; eighth++ {
		at := leadS + float64(eighth)*30/bpm + 0.004*(2*r.Float64()-1)*float64(min(eighth, 1))
		if at > seconds-1 {
			return frames
		}
		hit(frames, at, 0.02, 0.05, func(float64) float64 { return r.NormFloat64() })
		switch eighth % 4 {
		case 0:
			hit(frames, at, 0.5, 0.12, func(s float64) float64 { return math.Sin(2 * math.Pi * 60 * s) })
		case 2:
			hit(frames, at, 0.2, 0.09, func(s float64) float64 { return r.NormFloat64()*0.7 + math.Sin(2*math.Pi*190*s) })
		}
		hz := chords[eighth/8%4]
		hit(frames, at, 0.12, 0.3, func(s float64) float64 { return math.Sin(2*math.Pi*hz*s) + 0.3*math.Sin(6*math.Pi*hz*s) })
	}
}

// hit adds a sound that decays by 1/e in decayS.
func hit(frames []dsp.Frame, atS, ratio, decayS float64, wave func(s float64) float64) {
	start := int(atS * testRateHz)
	decay := math.Exp(-1 / (decayS * testRateHz))
	for i := range int(5 * decayS * testRateHz) {
		if start+i >= len(frames) {
			return
		}
		ratio *= decay
		v := ratio * wave(float64(i)/testRateHz)
		frames[start+i][0] += v
		frames[start+i][1] += 0.8 * v
	}
}

func hiss(seconds, levelDB float64, seed uint64) []dsp.Frame {
	frames := make([]dsp.Frame, int(seconds*testRateHz))
	dsp.NewWhite(seed).Fill(frames)
	dsp.Gain(dsp.FromDB(levelDB)).Process(frames)
	return frames
}

// syllables are bursts of filtered noise of random length, with pauses, as
// of somebody who talks.
func syllables(seconds float64, seed uint64) []dsp.Frame {
	r := rand.New(rand.NewPCG(seed, 9))
	frames := hiss(seconds, -65, seed)
	for at := 0.3; at < seconds-1; at += 0.12 + 0.18*r.Float64() {
		hz := 90 + 60*r.Float64()
		hit(frames, at, 0.1+0.2*r.Float64(), 0.04+0.08*r.Float64(), func(s float64) float64 {
			return min(s*50, 1) * (math.Sin(2*math.Pi*hz*s) + 0.4*r.NormFloat64()*math.Sin(2*math.Pi*7*s))
		})
		if r.Float64() < 0.12 {
			at += 0.3
		}
	}
	return frames
}

func allLoops(t testing.TB, m *Material) []Loop {
	t.Helper()
	l := FindLoops(m)
	n, err := l.Count(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	loops := make([]Loop, n)
	for i := range loops {
		if loops[i], err = l.Loop(t.Context(), i); err != nil {
			t.Fatal(err)
		}
	}
	checkLoops(t, m, loops)
	return loops
}

// checkLoops holds loops to what is promised of all.
func checkLoops(t testing.TB, m *Material, loops []Loop) {
	t.Helper()
	done, _ := m.Progress()
	end := 0
	for i, l := range loops {
		seconds := float64(l.Frames) / l.RateHz
		if (seconds < minLoopS-0.02 || seconds > maxLoopS+0.02) && done > int64(wholeS*l.RateHz) {
			t.Errorf("loop %d lasts %.2f s", i, seconds)
		}
		if l.StartFrame < end || int64(l.StartFrame+l.Frames) > done {
			t.Errorf("loop %d, %+v, overlaps the one before or the end", i, l)
		}
		end = l.StartFrame + l.Frames
	}
	if len(loops) == 0 || len(loops) > maxLoops {
		t.Errorf("%d loops", len(loops))
	}
}

func startS(l Loop) float64 { return float64(l.StartFrame) / l.RateHz }
func endS(l Loop) float64   { return float64(l.StartFrame+l.Frames) / l.RateHz }

// fromBeat is how far s is from the nearest beat, in seconds.
func fromBeat(s, bpm, leadS float64) float64 {
	beats := (s - leadS) * bpm / 60
	return math.Abs(beats-math.Round(beats)) * 60 / bpm
}

func TestLoopsFollowTheBeat(t *testing.T) {
	for _, bpm := range []float64{72, 88.5, 97, 120, 133.3, 174} {
		loops := allLoops(t, mustDecode(t, band(bpm, 0.37, 95, uint64(bpm)), testRateHz))
		if len(loops) < 8 {
			t.Errorf("%g bpm: only %d loops in 95 s", bpm, len(loops))
		}
		for i, l := range loops {
			if d := max(fromBeat(startS(l), bpm, 0.37), fromBeat(endS(l), bpm, 0.37)); d > 0.015 {
				t.Errorf("%g bpm, loop %d: a cut %.1f ms from the beat", bpm, i, 1000*d)
			}
			seconds := float64(l.Frames) / l.RateHz
			beats := seconds * bpm / 60
			if math.Abs(beats-math.Round(beats)) > 0.01*beats {
				t.Errorf("%g bpm, loop %d: %.3f beats", bpm, i, beats)
			}
		}
	}
}

// A cut lies before the attack it belongs to, by more than a fade of 5 ms.
func TestLoopsLeaveTheAttackWhole(t *testing.T) {
	for _, l := range allLoops(t, mustDecode(t, band(120, 0.37, 60, 3), testRateHz)) {
		beats := (startS(l) - 0.37) * 2
		early := (math.Round(beats) - beats) / 2
		if early < 0.001 || early > 0.0115 { // 6 ms, and the player's ±4 ms and half a step
			t.Errorf("the loop at %.3f s begins %.1f ms before its beat", startS(l), 1000*early)
		}
	}
}

func TestLoopsKeepOutOfSilence(t *testing.T) {
	frames := band(110, 0.2, 120, 5)
	for i := 50 * testRateHz; i < 70*testRateHz; i++ {
		frames[i] = dsp.Frame{}
	}
	for i := 90 * testRateHz; i < 91*testRateHz; i++ {
		frames[i] = dsp.Frame{}
	}
	for _, l := range allLoops(t, mustDecode(t, frames, testRateHz)) {
		for _, gap := range [][2]float64{{50.7, 69.3}, {90.65, 90.7}} {
			if startS(l) < gap[1] && endS(l) > gap[0] {
				t.Errorf("loop %.2f–%.2f s reaches into the silence at %g s", startS(l), endS(l), gap[0])
			}
		}
	}
}

func TestLoopsAvoidTheFade(t *testing.T) {
	fades := map[string]func(place float64) float64{ // place: 0 where it begins, 1 at the end
		"straight":    func(p float64) float64 { return 1 - p },
		"exponential": func(p float64) float64 { return dsp.FromDB(-50 * p) },
		"cosine":      func(p float64) float64 { return 0.5 + 0.5*math.Cos(math.Pi*p) },
	}
	const seconds = 100
	played := band(104, 0.1, seconds, 6)
	for name, fade := range fades {
		for _, fadeS := range []float64{5, 12, 30} {
			frames := slices.Clone(played)
			begin := seconds - fadeS
			for i := range frames {
				if p := (float64(i)/testRateHz - begin) / fadeS; p > 0 {
					dsp.Gain(fade(p)).Process(frames[i : i+1])
				}
			}
			loops := allLoops(t, mustDecode(t, frames, testRateHz))
			for _, l := range loops {
				p := (endS(l) - begin) / fadeS
				if p > 0 && fade(p) < dsp.FromDB(-3.5) {
					t.Errorf("%s fade of %g s: loop %.1f–%.1f s ends %.1f dB down", name, fadeS, startS(l), endS(l), dsp.ToDB(fade(p)))
				}
			}
			if last := endS(loops[len(loops)-1]); last < begin-12 {
				t.Errorf("%s fade of %g s: the last loop ends at %.1f s already", name, fadeS, last)
			}
		}
	}
}

// Where there is no beat, seams lie in the quiet between.
func TestLoopsOfSpeech(t *testing.T) {
	frames := syllables(90, 11)
	m := mustDecode(t, frames, testRateHz)
	loops := allLoops(t, m)
	if len(loops) < 6 {
		t.Errorf("only %d loops in 90 s of speech", len(loops))
	}
	mean := rmsDB(frames)
	for _, l := range loops {
		for _, at := range []int{l.StartFrame, l.StartFrame + l.Frames} {
			if level := rmsDB(frames[max(at-480, 0):min(at+480, len(frames))]); level > mean-10 {
				t.Errorf("seam at %.2f s: %.1f dB, the speech has %.1f dB", float64(at)/testRateHz, level, mean)
			}
		}
	}
}

func rmsDB(frames []dsp.Frame) float64 {
	sum := 0.0
	for _, f := range frames {
		sum += (f[0]*f[0] + f[1]*f[1]) / 2 / float64(len(frames))
	}
	return dsp.PowerToDB(sum)
}

func TestLoopsOfNoise(t *testing.T) {
	for seed := range uint64(4) {
		frames := make([]dsp.Frame, 60*testRateHz)
		dsp.NewPink(testRateHz, seed).Fill(frames)
		dsp.Gain(0.1).Process(frames)
		m := mustDecode(t, frames, testRateHz)
		if loops := allLoops(t, m); len(loops) < 4 {
			t.Errorf("only %d loops in a minute of noise", len(loops))
		}
		h := lookAt(m, 0, 30*testRateHz)
		if r := findRhythm(h.onsets(), h.rateHz); r.clarity >= clearRhythm {
			t.Errorf("noise %d has a beat, clarity %.2f", seed, r.clarity)
		}
	}
}

// Loop 0 is there before the song is whole, and everything is the same again
// however slowly it came.
func TestLoopsDoNotDependOnTiming(t *testing.T) {
	frames := band(101, 0.3, 75, 8)
	want := allLoops(t, mustDecode(t, frames, testRateHz))
	synctest.Test(t, func(t *testing.T) {
		m := mustStart(t, &tape{frames: frames, rateHz: testRateHz, pause: 10 * time.Millisecond})
		l := FindLoops(m)
		first, err := l.Loop(t.Context(), 0)
		if err != nil || first != want[0] {
			t.Errorf("the first loop is %+v, %v; want %+v", first, err, want[0])
		}
		if done, _ := m.Progress(); done > 32*testRateHz {
			t.Errorf("the first loop came after %d s", done/testRateHz)
		}
		n, err := l.Count(t.Context())
		if err != nil || n != len(want) {
			t.Fatalf("%d loops, %v; want %d", n, err, len(want))
		}
		for i := range want {
			if got, err := l.Loop(t.Context(), i); err != nil || got != want[i] {
				t.Errorf("loop %d is %+v, %v; want %+v", i, got, err, want[i])
			}
		}
	})
}

// A long quiet lead-in: the first loop is the first there is.
func TestFirstLoopAfterSilence(t *testing.T) {
	frames := append(make([]dsp.Frame, 70*testRateHz), band(116, 0, 60, 2)...)
	loops := allLoops(t, mustDecode(t, frames, testRateHz))
	if s := startS(loops[0]); s < 69.9 || s > 80 {
		t.Errorf("the first loop begins at %.1f s", s)
	}
}

func TestLoopsOfHostileMaterial(t *testing.T) {
	faint := hiss(40, -95, 1)
	for _, c := range []struct {
		name   string
		frames []dsp.Frame
		loops  int
		want   string
	}{
		{"silent", make([]dsp.Frame, 40*testRateHz), 0, "song.wav: it is silent, or nearly so: choose another file"},
		{"nearly silent", faint, 0, "song.wav: it is silent, or nearly so: choose another file"},
		{"short and silent", make([]dsp.Frame, 5*testRateHz), 0, "song.wav: it is silent, or nearly so: choose another file"},
		{"1.3 s", hiss(1.3, -20, 1), 0, "song.wav: it lasts 1.3 s; a loop needs 2 s at least"},
		{"one frame", make([]dsp.Frame, 1), 0, "song.wav: it lasts 0.0 s; a loop needs 2 s at least"},
		{"4 s", hiss(4, -20, 1), 1, ""},
		{"11.9 s", hiss(11.9, -20, 1), 1, ""},
		{"clicks 3 s apart", clicks(60), 0, "song.wav: nowhere does it sound for 6 s without a gap or a fade: choose another file"},
	} {
		l := FindLoops(mustDecode(t, c.frames, testRateHz))
		n, err := l.Count(t.Context())
		if fmt.Sprint(err) != c.want && !(err == nil && c.want == "") || n != c.loops {
			t.Errorf("%s: %d loops, %v", c.name, n, err)
		}
		first, firstErr := l.Loop(t.Context(), 0)
		if fmt.Sprint(firstErr) != fmt.Sprint(err) {
			t.Errorf("%s: the first loop says %v", c.name, firstErr)
		}
		if c.loops == 1 && (first.StartFrame != 0 || first.Frames != len(c.frames)) {
			t.Errorf("%s: %+v, want it whole", c.name, first)
		}
	}
}

func clicks(seconds float64) []dsp.Frame {
	frames := make([]dsp.Frame, int(seconds*testRateHz))
	for at := 0.5; at < seconds; at += 3 {
		hit(frames, at, 0.5, 0.01, func(s float64) float64 { return math.Cos(3000 * s) })
	}
	return frames
}

// Where decoding was stopped is chance: nothing is cut from what was there.
func TestLoopsOfStoppedMaterial(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		m, err := Start(ctx, "song.wav", "hash", &tape{frames: hiss(40, -20, 1), rateHz: testRateHz, pause: time.Millisecond})
		if err != nil {
			t.Fatal(err)
		}
		if err := m.WaitFrames(t.Context(), 15*testRateHz); err != nil {
			t.Fatal(err)
		}
		cancel()
		if n, err := FindLoops(m).Count(t.Context()); n != 0 || !errors.Is(err, context.Canceled) {
			t.Errorf("%d loops, %v", n, err)
		}
	})
}

func TestLoopOutOfRange(t *testing.T) {
	l := FindLoops(mustDecode(t, hiss(40, -20, 1), testRateHz))
	for _, i := range []int{-1, 24, math.MaxInt} {
		if _, err := l.Loop(t.Context(), i); err == nil || !strings.Contains(err.Error(), "there is no loop") {
			t.Errorf("loop %d: %v", i, err)
		}
	}
}

// The powers of the octaves sum to that of the frames: the transform is
// orthonormal (Parseval).
func TestHopsKeepThePower(t *testing.T) {
	for _, rateHz := range []float64{8000, 44100, 48000, 96000, 192000} {
		frames := make([]dsp.Frame, int(rateHz))
		dsp.NewPink(rateHz, 4).Fill(frames)
		h := lookAt(mustDecode(t, frames, rateHz), 0, int64(rateHz))
		if ms := 1000 / h.rateHz; ms < 3.8 || ms > 7.8 {
			t.Errorf("%g Hz: hops of %.1f ms", rateHz, ms)
		}
		want := rmsDB(frames[:len(h.power)*h.frames])
		if got := levelDB(h.meanPower(0, len(h.power))); math.Abs(got-want) > 1e-6 {
			t.Errorf("%g Hz: %.7f dB, want %.7f", rateHz, got, want)
		}
	}
}

func BenchmarkLoopsOfSixMinutes(b *testing.B) {
	m := mustDecode(b, band(117, 0.3, 360, 1), testRateHz)
	for b.Loop() {
		if n, err := FindLoops(m).Count(b.Context()); err != nil || n != maxLoops {
			b.Fatal(n, err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(360*testRateHz), "ns/frame")
}
