package dynamics

import (
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

func newGlide(t testing.TB, s dsp.Setting) *Glide {
	t.Helper()
	g, err := NewGlide(48000, s)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// A Glide keeps the contract of every processor.
func TestGlideKeepsTheContract(t *testing.T) {
	spec := Compressor
	spec.Build = func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		g, err := NewGlide(rateHz, s)
		if err != nil {
			return nil, err
		}
		return g, nil
	}
	dsptest.Check(t, spec, dsp.Setting{"ratio": 8, "thresholdDB": -40, "linkPct": 20, "lookaheadMS": 3})
}

// At rest it is the Compressor, and after a movement the one it was turned to.
func TestGlideArrives(t *testing.T) {
	from := dsp.Setting{"thresholdDB": -10, "ratio": 2, "attackMS": 1, "releaseMS": 20, "linkPct": 50}
	to := from.With("thresholdDB", -40).With("ratio", 10)
	in := dsptest.Music(48000, 1, 192000)
	got, before, after := slices.Clone(in), slices.Clone(in), slices.Clone(in)
	g := newGlide(t, from)
	g.Process(got[:48000])
	if err := g.Turn(to); err != nil {
		t.Fatal(err)
	}
	g.Process(got[48000:])
	build(t, Compressor, from).Process(before)
	build(t, Compressor, to).Process(after)
	for i := range in {
		want := before[i]
		if i >= 144000 { // two seconds later nothing is left of the way there
			want = after[i]
		} else if i >= 48000 {
			continue
		}
		if d := math.Abs(got[i][0] - want[0]); d > 1e-12 {
			t.Fatalf("frame %d differs by %g", i, d)
		}
	}
}

// Turned by 50 dB on a steady level with the fastest attack, the gain makes no
// step: nowhere does it fall by more than the straight line asks for.
func TestGlideMakesNoClick(t *testing.T) {
	s := dsp.Setting{"thresholdDB": 0, "ratio": 20, "kneeDB": 0, "attackMS": 0.05, "releaseMS": 10}
	buf := stepDB(-1, -1, 0, 9600)
	g := newGlide(t, s)
	g.Process(buf[:2000])
	if err := g.Turn(s.With("thresholdDB", -50)); err != nil {
		t.Fatal(err)
	}
	for at := 2000; at < len(buf); at += 100 {
		g.Process(buf[at : at+100])
	}
	steepest := 0.0
	for i := 1; i < len(buf); i++ {
		steepest = max(steepest, math.Abs(dsp.ToDB(buf[i][0]/buf[i-1][0])))
	}
	if most := 50 * 0.95 / (glideS * 48000) * 1.001; steepest > most {
		t.Errorf("the gain steps by %.4f dB a frame, the knob by %.4f", steepest, most)
	}
	if got, want := dsp.ToDB(buf[9599][0]), CurveDB(-1, -50, 20, 0); math.Abs(got-want) > 1e-6 {
		t.Errorf("arrives at %.6f dB, want %.6f", got, want)
	}
}

func TestGlideRefuses(t *testing.T) {
	if g, err := NewGlide(48000, dsp.Setting{"topology": 0}); g != nil || err == nil {
		t.Errorf("feedback: %v, %v", g, err)
	}
	g := newGlide(t, dsp.Setting{"ratio": 3})
	for want, s := range map[string]dsp.Setting{
		"attackMS cannot be turned": {"ratio": 3, "attackMS": 1},
		"ratio=30 is outside":       {"ratio": 30},
	} {
		if err := g.Turn(s); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Turn(%v): %v, want %q", s, err, want)
		}
	}
}

// Turning and sounding at the same time; the race detector watches.
func TestGlideIsTurnedFromAnotherGoroutine(t *testing.T) {
	g := newGlide(t, dsp.Setting{"ratio": 4})
	var done sync.WaitGroup
	done.Go(func() {
		for i := range 1000 {
			if err := g.Turn(dsp.Setting{"ratio": 4, "thresholdDB": -float64(i % 60)}); err != nil {
				t.Error(err)
			}
		}
	})
	buf := dsptest.Music(48000, 1, 48000)
	for at := 0; at < len(buf); at += 64 {
		g.Process(buf[at : at+64])
	}
	done.Wait()
	if !(samplePeak(buf) < 1) {
		t.Errorf("peak %g", samplePeak(buf))
	}
}
