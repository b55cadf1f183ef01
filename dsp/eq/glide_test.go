package eq_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/eq"
)

// glides are the kinds of Glide, each with the processor it comes to rest as.
var glides = map[string]struct {
	still  dsp.Spec
	glide  func(rateHz float64, s dsp.Setting) (*eq.Glide, error)
	settle []dsp.Setting
}{
	"peak": {eq.Peak, eq.NewPeakGlide, []dsp.Setting{
		{"freqHz": 200, "gainDB": -12, "q": 0.7}, {"freqHz": 12000, "gainDB": 12, "q": 4}, {"freqHz": 60, "gainDB": 6, "q": 2}, {}}},
	"lowshelf": {eq.LowShelf, eq.NewLowShelfGlide, []dsp.Setting{
		{"freqHz": 80, "gainDB": -12}, {"freqHz": 3000, "gainDB": 12, "slope": 0.4}, {}}},
	"highshelf": {eq.HighShelf, eq.NewHighShelfGlide, []dsp.Setting{
		{"freqHz": 9000, "gainDB": 12}, {"freqHz": 1500, "gainDB": -12, "slope": 0.4}, {}}},
}

// At rest a Glide keeps the whole contract, with the response of its processor.
func TestGlideContract(t *testing.T) {
	for id, g := range glides {
		spec := g.still
		spec.Build = func(rateHz float64, s dsp.Setting) (dsp.Processor, error) { return g.glide(rateHz, s) }
		t.Run(id, func(t *testing.T) { dsptest.Check(t, spec, g.settle...) })
	}
}

// Wherever the knobs were, 50 ms after the turn and the memory of the filter
// the output is that of the still processor, to −200 dB.
func TestGlideArrives(t *testing.T) {
	for id, g := range glides {
		glide, err := g.glide(48000, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, set := range g.settle {
			if err := glide.Turn(set); err != nil {
				t.Fatal(err)
			}
			still, err := g.still.New(48000, set)
			if err != nil {
				t.Fatal(err)
			}
			a := dsptest.Music(48000, uint64(i), 96000)
			b := append([]dsp.Frame(nil), a...)
			glide.Process(a)
			still.Process(b)
			if got := differenceDB(a[72000:], b[72000:]); !(got < -200) {
				t.Errorf("%s to {%s}: %.1f dB from the still one", id, set.Text(g.still.Params), got)
			}
		}
	}
}

// clickDB is the highest level that a turn from one setting to another puts
// above 5 kHz while a sine of 100 Hz at −6 dBFS plays.
func clickDB(process func(buf []dsp.Frame), turn func()) float64 {
	buf := dsptest.Sine(48000, 100, 0.5, 0, 48000)
	process(buf[:24013])
	turn()
	process(buf[24013:])
	high, err := eq.LowCut.New(48000, dsp.Setting{"freqHz": 5000, "slopeDBOct": 48})
	if err != nil {
		panic(err)
	}
	high.Process(buf)
	most := 0.0
	for _, f := range buf[12000:] { // the sine's own beginning is over
		most = max(most, math.Abs(f[0]))
	}
	return dsp.ToDB(most)
}

// Every turn of a knob stays below −85 dBFS above 5 kHz. The same turn by an
// exchange of filters is a click, which this test must find.
func TestGlideDoesNotClick(t *testing.T) {
	for id, g := range glides {
		for i, from := range g.settle {
			for j, to := range g.settle {
				if i == j {
					continue
				}
				glide, err := g.glide(48000, from)
				if err != nil {
					t.Fatal(err)
				}
				name := fmt.Sprintf("%s from {%s} to {%s}", id, from.Text(g.still.Params), to.Text(g.still.Params))
				if got := clickDB(glide.Process, func() { glide.Turn(to) }); !(got < -85) {
					t.Errorf("%s: %.1f dBFS", name, got)
				}
			}
		}
		before, _ := g.still.New(48000, g.settle[0])
		after, _ := g.still.New(48000, g.settle[1])
		playing := before
		if got := clickDB(func(buf []dsp.Frame) { playing.Process(buf) }, func() { playing = after }); got < -60 {
			t.Errorf("%s: an exchange of filters is said to click at %.1f dBFS only", id, got)
		}
	}
}

// A knob that is dragged, a turn every 10 ms, is a turn whose movements are cut
// short: each may be heard as a bend of the level, not as a click.
func TestDragDoesNotClick(t *testing.T) {
	glide, err := eq.NewPeakGlide(48000, dsp.Setting{"freqHz": 150, "gainDB": -12})
	if err != nil {
		t.Fatal(err)
	}
	dragged := func(buf []dsp.Frame) {
		for at := 0; at < len(buf); at += 480 {
			if step := float64(at / 480); step < 24 {
				glide.Turn(dsp.Setting{"freqHz": 150 + 10*step, "gainDB": step - 12})
			}
			glide.Process(buf[at:min(at+480, len(buf))])
		}
	}
	if got := clickDB(dragged, func() {}); !(got < -85) {
		t.Errorf("%.1f dBFS above 5 kHz", got)
	}
}

// Loud noise through knobs that never rest stays finite and near the greatest
// gain that the knobs allow.
func TestGlideIsStable(t *testing.T) {
	glide, err := eq.NewPeakGlide(48000, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(1, 1))
	buf := make([]dsp.Frame, 480)
	noise := dsp.NewWhite(1)
	for range 2000 {
		set := dsp.Setting{}
		for _, p := range eq.Peak.Params {
			set[p.ID] = p.At(r.Float64())
		}
		if err := glide.Turn(set); err != nil {
			t.Fatal(err)
		}
		noise.Fill(buf)
		glide.Process(buf)
		for _, f := range buf {
			if !(math.Abs(f[0]) < 100) || !(math.Abs(f[1]) < 100) {
				t.Fatalf("%v at {%s}", f, set.Text(eq.Peak.Params))
			}
		}
	}
}

// Turns at the same frames give the same bits however the sound between them
// is cut into blocks.
func TestGlideKnowsNoBlocks(t *testing.T) {
	render := func(block int) []dsp.Frame {
		glide, err := eq.NewPeakGlide(48000, nil)
		if err != nil {
			t.Fatal(err)
		}
		buf := dsptest.Music(48000, 1, 12000)
		for at := 0; at < len(buf); {
			if at%3000 == 0 {
				glide.Turn(glides["peak"].settle[at/3000])
			}
			n := min(block, 3000-at%3000)
			glide.Process(buf[at : at+n])
			at += n
		}
		return buf
	}
	want := render(3000)
	for _, block := range []int{1, 7, 32, 100, 511} {
		for i, f := range render(block) {
			if f != want[i] {
				t.Fatalf("blocks of %d: frame %d is %v, want %v", block, i, f, want[i])
			}
		}
	}
}

// Turn may be called while another goroutine processes, and while it moves
// nothing is allocated; a refused turn moves nothing.
func TestTurn(t *testing.T) {
	glide, err := eq.NewPeakGlide(48000, nil)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		buf := make([]dsp.Frame, 64)
		for range 500 {
			glide.Process(buf)
		}
	}()
	for i := range 200 {
		if err := glide.Turn(dsp.Setting{"gainDB": float64(i%40) - 20}); err != nil {
			t.Error(err)
		}
	}
	<-done
	if err := glide.Turn(dsp.Setting{"gainDB": 25}); err == nil || !strings.HasPrefix(err.Error(), "the knobs stay where they are: peak: gainDB=25") {
		t.Errorf("a gain of 25 dB: %v", err)
	}
	buf := make([]dsp.Frame, 64)
	if err := glide.Turn(dsp.Setting{"gainDB": 3, "freqHz": 4000}); err != nil {
		t.Error(err)
	}
	if n := testing.AllocsPerRun(20, func() { glide.Process(buf) }); n > 0 {
		t.Errorf("%g allocations a block while it moves", n)
	}
}

func ExampleGlide() {
	glide, err := eq.NewPeakGlide(48000, dsp.Setting{"freqHz": 1000})
	if err != nil {
		fmt.Println(err)
	}
	buf := dsptest.Sine(48000, 1000, 0.25, 0, 9600)
	glide.Turn(dsp.Setting{"freqHz": 1000, "gainDB": 6})
	glide.Process(buf)
	most := 0.0
	for _, f := range buf[4800:] {
		most = max(most, f[0])
	}
	fmt.Println(dsp.FormatDB(dsp.ToDB(most / 0.25)))
	// Output: +6.0 dB
}

func BenchmarkGlide(b *testing.B) {
	for name, turning := range map[string]bool{"at rest": false, "turning": true} {
		b.Run(name, func(b *testing.B) {
			glide, err := eq.NewPeakGlide(48000, nil)
			if err != nil {
				b.Fatal(err)
			}
			buf := make([]dsp.Frame, 512)
			dsp.NewPink(48000, 1).Fill(buf)
			sets := [2]dsp.Setting{{"gainDB": 6}, {"gainDB": -6}}
			for i := 0; b.Loop(); i++ {
				if turning && i%4 == 0 {
					glide.Turn(sets[i/4%2])
				}
				glide.Process(buf)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/512, "ns/frame")
		})
	}
}
