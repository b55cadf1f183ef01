package resample

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"slices"
	"testing"

	"strop/dsp"
)

// rates are pairs that occur, and a few that are hard.
var rates = [...][2]float64{
	{44100, 48000}, {48000, 44100}, {88200, 48000}, {96000, 44100}, {192000, 48000},
	{176400, 48000}, {384000, 44100}, {44100, 384000}, {8000, 48000}, {48000, 8000},
	{11025, 48000}, {22050, 44100}, {44100, 22050}, {32000, 44100}, {22255, 48000},
}

// tone is n frames of a sine, at half of full scale left and a quarter right.
func tone(n int, freqHz, rateHz float64) []dsp.Frame {
	frames := make([]dsp.Frame, n)
	for i := range frames {
		v := math.Sin(2 * math.Pi * freqHz / rateHz * float64(i))
		frames[i] = dsp.Frame{v / 2, v / 4}
	}
	return frames
}

// fit finds the sine of freqHz in one channel by least squares. It returns its
// amplitude and the RMS of the rest, both as ratios.
func fit(frames []dsp.Frame, ch int, freqHz, rateHz float64) (ampRatio, restRatio float64) {
	w := 2 * math.Pi * freqHz / rateHz
	var ss, cc, sc, xs, xc float64
	for i, f := range frames {
		s, c := math.Sincos(w * float64(i))
		ss, cc, sc = ss+s*s, cc+c*c, sc+s*c
		xs, xc = xs+f[ch]*s, xc+f[ch]*c
	}
	det := ss*cc - sc*sc
	a, b := (xs*cc-xc*sc)/det, (xc*ss-xs*sc)/det
	sum := 0.0
	for i, f := range frames {
		s, c := math.Sincos(w * float64(i))
		d := f[ch] - a*s - b*c
		sum += d * d
	}
	return math.Hypot(a, b), math.Sqrt(sum / float64(len(frames)))
}

// middle drops the first and last part, where the filter has silence in view.
func middle(frames []dsp.Frame) []dsp.Frame {
	return frames[len(frames)/4 : len(frames)*3/4]
}

// The limits are the program's own, ±0.1 dB at 20 kHz and spurious <= -110 dB;
// that they are met is measured with a sine fit, not with the filter.
func TestTonesKeepLevelAndPhaseAndGainNothing(t *testing.T) {
	for _, r := range rates {
		lowerHz := min(r[0], r[1])
		for _, relative := range []float64{0.02, 0.3, 0.6, 0.8, 20000.0 / 22050} {
			freqHz := relative * lowerHz / 2
			name := fmt.Sprintf("%.0f to %.0f Hz, %.0f Hz", r[0], r[1], freqHz)
			out, err := Frames(tone(int(r[0]/4), freqHz, r[0]), r[0], r[1])
			if err != nil {
				t.Fatal(name, err)
			}
			from := len(out) / 4
			for ch, want := range []float64{0.5, 0.25} {
				amp, rest := fit(middle(out), ch, freqHz, r[1])
				if db := dsp.ToDB(amp / want); math.Abs(db) > 0.001 && relative < 0.9 || math.Abs(db) > 0.1 {
					t.Errorf("%s: gain %+.4f dB", name, db)
				}
				if db := dsp.ToDB(rest * math.Sqrt2 / want); db > -110 {
					t.Errorf("%s: everything else at %.1f dB", name, db)
				}
			}
			// Frame 0 is frame 0: the phase is that of a sine that began there.
			w := 2 * math.Pi * freqHz / r[1]
			for i, f := range middle(out) {
				if d := f[0] - 0.5*math.Sin(w*float64(from+i)); math.Abs(d) > 1e-5 && relative < 0.9 {
					t.Fatalf("%s: frame %d is off by %g", name, from+i, d)
				}
			}
		}
	}
}

func TestWhatCannotBeHeldVanishes(t *testing.T) {
	cases := []struct{ fromHz, toHz, freqHz float64 }{
		{48000, 44100, 23000}, {48000, 44100, 22200}, {96000, 44100, 23000}, {96000, 48000, 30000},
		{192000, 44100, 60000}, {44100, 8000, 5000}, {384000, 48000, 150000},
	}
	for _, c := range cases {
		out, err := Frames(tone(int(c.fromHz/4), c.freqHz, c.fromHz), c.fromHz, c.toHz)
		if err != nil {
			t.Fatal(err)
		}
		peak := 0.0
		for _, f := range middle(out) {
			peak = max(peak, math.Abs(f[0]))
		}
		if db := dsp.ToDB(peak / 0.5); db > -110 {
			t.Errorf("%g Hz from %g to %g Hz: %.1f dB is left", c.freqHz, c.fromHz, c.toHz, db)
		}
	}
}

func TestImagesVanish(t *testing.T) {
	// An image of f lies at fromHz-f: fit it there, where the output can hold it.
	const fromHz, toHz, freqHz = 44100, 96000, 10000
	out, err := Frames(tone(fromHz/2, freqHz, fromHz), fromHz, toHz)
	if err != nil {
		t.Fatal(err)
	}
	if amp, _ := fit(middle(out), 0, fromHz-freqHz, toHz); dsp.ToDB(amp/0.5) > -110 {
		t.Errorf("the image is at %.1f dB", dsp.ToDB(amp/0.5))
	}
}

func TestSteadyValueIsKeptByEveryPhase(t *testing.T) {
	for _, r := range rates {
		src := slices.Repeat([]dsp.Frame{{1, -3}}, 5000)
		out, err := Frames(src, r[0], r[1])
		if err != nil {
			t.Fatal(err)
		}
		for i, f := range middle(out) {
			if math.Abs(f[0]-1) > 1e-13 || math.Abs(f[1]+3) > 3e-13 {
				t.Fatalf("%v Hz, frame %d: %v", r, i, f)
			}
		}
	}
}

func TestLengthIsRoundedUp(t *testing.T) {
	for _, rate := range rates {
		r, err := New(rate[0], rate[1])
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range []int{0, 1, 2, 3, 146, 147, 148, 4096, 10007} {
			want := int(math.Ceil(float64(n) * rate[1] / rate[0]))
			got, _ := r.Stream(&memory{rest: tone(n, 1000, rate[0])}).Stream(make([]dsp.Frame, want+100))
			if got != want || r.Len(n) != want {
				t.Errorf("%d frames at %v Hz are %d, Len says %d, want %d", n, rate, got, r.Len(n), want)
			}
		}
	}
}

func TestEqualRatesGiveTheSameSlice(t *testing.T) {
	src := tone(100, 1000, 48000)
	for name, f := range map[string]func([]dsp.Frame, float64, float64) ([]dsp.Frame, error){"Frames": Frames, "Loop": Loop} {
		out, err := f(src, 48000, 48000)
		if err != nil || &out[0] != &src[0] || len(out) != len(src) {
			t.Errorf("%s does not return the slice that it was given: %v", name, err)
		}
	}
	r, err := New(48000, 48000)
	if err != nil {
		t.Fatal(err)
	}
	if m := (&memory{rest: src}); r.Stream(m) != m {
		t.Error("Stream does not return the streamer that it was given")
	}
}

// drip streams frames in blocks of random size, some of them empty.
type drip struct {
	memory
	rng *rand.Rand
}

func (d *drip) Stream(buf []dsp.Frame) (int, bool) {
	if len(d.rest) == 0 {
		return 0, false
	}
	n := min(len(buf), d.rng.IntN(300))
	m, _ := d.memory.Stream(buf[:n])
	return m, true
}

func TestBlocksDoNotMatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, rate := range rates {
		src := tone(9000, 777, rate[0])
		want, err := Frames(src, rate[0], rate[1])
		if err != nil {
			t.Fatal(err)
		}
		r, err := New(rate[0], rate[1])
		if err != nil {
			t.Fatal(err)
		}
		s := r.Stream(&drip{memory{src}, rng})
		got := make([]dsp.Frame, 0, len(want))
		buf := make([]dsp.Frame, 1000)
		for {
			n, ok := s.Stream(buf[:1+rng.IntN(999)])
			if !ok {
				break
			}
			got = append(got, buf[:n]...)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%v Hz: split into blocks it sounds different", rate)
		}
	}
}

func TestStreamTakesNoMemory(t *testing.T) {
	r, err := New(44100, 48000)
	if err != nil {
		t.Fatal(err)
	}
	s, buf := r.Stream(&memory{rest: tone(400_000, 1000, 44100)}), make([]dsp.Frame, 512)
	if n := testing.AllocsPerRun(100, func() { s.Stream(buf) }); n != 0 {
		t.Errorf("%g allocations a block", n)
	}
}

// A loop that holds whole periods must, at any rate, hold whole periods again:
// one sine over the whole of it with nothing beside it, seam included.
func TestLoopHasNoSeam(t *testing.T) {
	for _, rate := range rates {
		for _, n := range []int{7, 4410, 20011} {
			periods := max(1, int(0.4*float64(n)*min(1, rate[1]/rate[0])))
			if n < 10 && rate[1] < rate[0]/2 {
				continue // so short a loop holds no period at the lower rate
			}
			src := make([]dsp.Frame, n)
			for i := range src {
				v := math.Sin(2 * math.Pi * float64(periods) * float64(i) / float64(n))
				src[i] = dsp.Frame{v, v / 2}
			}
			out, err := Loop(src, rate[0], rate[1])
			if err != nil {
				t.Fatal(err)
			}
			if want := int(math.Round(float64(n) * rate[1] / rate[0])); len(out) != want {
				t.Errorf("%d frames from %g to %g Hz are %d, want %d", n, rate[0], rate[1], len(out), want)
			}
			for i, f := range out {
				want := math.Sin(2 * math.Pi * float64(periods) * float64(i) / float64(len(out)))
				if d := math.Abs(f[0] - want); d > 3e-6 {
					t.Fatalf("%v Hz, %d frames: frame %d of %d is off by %g (%.1f dB)", rate, n, i, len(out), d, dsp.ToDB(d))
				}
			}
		}
	}
}

func TestEmptyLoopStaysEmpty(t *testing.T) {
	if out, err := Loop(nil, 44100, 48000); err != nil || len(out) != 0 {
		t.Error(out, err)
	}
}

func TestRatesThatAreRefused(t *testing.T) {
	for _, r := range [...][2]float64{
		{0, 48000}, {48000, 0}, {-1, 48000}, {math.NaN(), 48000}, {48000, math.Inf(1)},
		{44100.5, 48000}, {7999, 48000}, {48000, 384001}, {383999, 384000},
	} {
		if _, err := New(r[0], r[1]); err == nil {
			t.Errorf("%v Hz was accepted", r)
		}
	}
}

// sox is an independent sample rate converter of very high quality (its rate
// effect, -v). Many sines must come out of both alike, in level and in time. They
// end at 0.6 of the band, because sox itself falls from there on: by 0.0005 dB
// at 18 kHz and 0.003 dB at 20 kHz, measured by the fit above.
func TestAgreesWithSox(t *testing.T) {
	if _, err := exec.LookPath("sox"); err != nil {
		t.Skip("needs the program sox, which was not found")
	}
	for _, rate := range [...][2]float64{{44100, 48000}, {48000, 44100}, {96000, 44100}, {44100, 96000}, {22050, 48000}} {
		src := bandNoise(int(rate[0]), 0.6*min(rate[0], rate[1])/2, rate[0])
		want := sox(t, src, rate[0], rate[1])
		got, err := Frames(src, rate[0], rate[1])
		if err != nil {
			t.Fatal(err)
		}
		n := min(len(got), len(want))
		if len(got)-n > 1 || len(want)-n > 1 {
			t.Errorf("%v Hz: %d frames, sox has %d", rate, len(got), len(want))
		}
		worst := 0.0
		for i := n / 10; i < n*9/10; i++ {
			worst = max(worst, math.Abs(got[i][0]-want[i][0]), math.Abs(got[i][1]-want[i][1]))
		}
		t.Logf("%v Hz: differs from sox by %.1f dBFS at most", rate, dsp.ToDB(worst))
		if dsp.ToDB(worst) > -120 {
			t.Errorf("%v Hz: differs from sox by %.1f dBFS", rate, dsp.ToDB(worst))
		}
	}
}

// bandNoise is 60 sines of random phase up to topHz, peaks below full scale.
func bandNoise(n int, topHz, rateHz float64) []dsp.Frame {
	rng := rand.New(rand.NewPCG(3, 4))
	frames := make([]dsp.Frame, n)
	for range 60 {
		w, p, q := 2*math.Pi*topHz*rng.Float64()/rateHz, 6.3*rng.Float64(), 6.3*rng.Float64()
		for i := range frames {
			frames[i][0] += math.Sin(w*float64(i)+p) / 60
			frames[i][1] += math.Sin(w*float64(i)+q) / 60
		}
	}
	return frames
}

func sox(t *testing.T, src []dsp.Frame, fromHz, toHz float64) []dsp.Frame {
	t.Helper()
	var in, out bytes.Buffer
	if err := binary.Write(&in, binary.LittleEndian, src); err != nil {
		t.Fatal(err)
	}
	raw := []string{"-t", "raw", "-e", "float", "-b", "64", "-c", "2", "-r"}
	args := append([]string{"-D", "-R"}, append(raw, fmt.Sprint(fromHz), "-")...)
	args = append(args, append(raw, fmt.Sprint(toHz), "-", "rate", "-v", fmt.Sprint(toHz))...)
	cmd := exec.Command("sox", args...)
	cmd.Stdin, cmd.Stdout = &in, &out
	if err := cmd.Run(); err != nil {
		t.Fatal(err)
	}
	frames := make([]dsp.Frame, out.Len()/16)
	if err := binary.Read(&out, binary.LittleEndian, frames); err != nil {
		t.Fatal(err)
	}
	return frames
}

func ExampleFrames() {
	second := make([]dsp.Frame, 44100)
	at48k, err := Frames(second, 44100, 48000)
	fmt.Println(len(at48k), err)
	_, err = Frames(second, 44100.5, 48000)
	fmt.Println(err)
	// Output:
	// 48000 <nil>
	// a sample rate of 44100.5 Hz cannot be converted: it must be a whole number from 8000 to 384000 Hz
}

func BenchmarkFrames(b *testing.B) {
	for _, rate := range [...][2]float64{{44100, 48000}, {48000, 44100}, {96000, 48000}} {
		b.Run(fmt.Sprintf("%g-%g", rate[0], rate[1]), func(b *testing.B) {
			src := tone(int(rate[0]), 1000, rate[0])
			r, err := New(rate[0], rate[1])
			if err != nil {
				b.Fatal(err)
			}
			dst := make([]dsp.Frame, r.Len(len(src)))
			for b.Loop() {
				r.Stream(&memory{rest: src}).Stream(dst)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(dst)), "ns/frame")
		})
	}
}

func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		if _, err := New(44100, 48000); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLoopBetweenPhases(b *testing.B) {
	src := tone(44101, 1000, 44100)
	for b.Loop() {
		if _, err := Loop(src, 44100, 48000); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*48001), "ns/frame")
}
