package demo

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"strop/dsp"
)

func newChance(s *score, i int) *rand.Rand { return rand.New(rand.NewPCG(s.seed, uint64(i))) }

// rendered plays every piece once for all tests.
var rendered = sync.OnceValues(func() (map[string][]dsp.Frame, error) {
	pieces, err := List()
	if err != nil {
		return nil, err
	}
	all := map[string][]dsp.Frame{}
	for _, p := range pieces {
		src := p.Open()
		frames := make([]dsp.Frame, src.Format().Frames)
		for n := 0; n < len(frames); {
			got, ok := src.Stream(frames[n:min(n+4096, len(frames))])
			if !ok {
				return nil, fmt.Errorf("%s ends after %d of %d frames: %v", p.Name, n, len(frames), src.Err())
			}
			n += got
		}
		if got, ok := src.Stream(make([]dsp.Frame, 1)); got > 0 || ok || src.Err() != nil {
			return nil, fmt.Errorf("%s goes on after its end", p.Name)
		}
		all[p.Name] = frames
	}
	return all, nil
})

func mustRender(t *testing.T) map[string][]dsp.Frame {
	t.Helper()
	all, err := rendered()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// octavesDB are the levels of the octaves 63 Hz to 8 kHz, and of the third of
// an octave at 12.5 kHz, relative to the whole: by another FFT than our own.
func octavesDB(frames []dsp.Frame) []float64 {
	const n = 1 << 14
	fft := fourier.NewFFT(n)
	power := make([]float64, n/2+1)
	x := make([]float64, n)
	for c := range 2 {
		for start := 0; start+n <= len(frames); start += n {
			for i := range x {
				x[i] = frames[start+i][c] * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/n))
			}
			for i, v := range fft.Coefficients(nil, x) {
				power[i] += real(v)*real(v) + imag(v)*imag(v)
			}
		}
	}
	total := 0.0
	for _, p := range power {
		total += p
	}
	var levels []float64
	for _, hz := range []float64{63, 125, 250, 500, 1000, 2000, 4000, 8000, 12500} {
		half := math.Sqrt2
		if hz == 12500 {
			half = math.Exp2(1. / 6)
		}
		sum := 0.0
		for i, p := range power {
			if f := float64(i) * rateHz / n; f >= hz/half && f < hz*half {
				sum += p
			}
		}
		levels = append(levels, dsp.PowerToDB(sum/total))
	}
	return levels
}

// Every octave can be asked about: none lies more than 45 dB below the whole.
func TestPiecesAreFullBand(t *testing.T) {
	for name, frames := range mustRender(t) {
		for i, levelDB := range octavesDB(frames) {
			if levelDB < -40 {
				t.Errorf("%s: band %d lies at %.1f dB", name, i, levelDB)
			}
		}
	}
}

// Nobody's microphone gives digital black, and no channel is missing.
func TestPiecesAreNeverBlack(t *testing.T) {
	for name, frames := range mustRender(t) {
		for start := 0; start+480 <= len(frames); start += 480 {
			for c := range 2 {
				sum := 0.0
				for _, f := range frames[start : start+480] {
					sum += f[c] * f[c] / 480
				}
				if levelDB := dsp.PowerToDB(sum); levelDB < -85 {
					t.Fatalf("%s: %.1f dBFS at %.2f s", name, levelDB, float64(start)/rateHz)
				}
			}
		}
	}
}

// Loudness and true peak as an independent meter, the one in ffmpeg, reads them.
func TestPiecesLoudness(t *testing.T) {
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("needs ffmpeg")
	}
	figure := func(text []byte, name string) float64 {
		all := regexp.MustCompile(name+`:\s+(-?[0-9.]+) `).FindAllSubmatch(text, -1)
		if len(all) == 0 {
			t.Fatalf("no %s in %s", name, text)
		}
		v, err := strconv.ParseFloat(string(all[len(all)-1][1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for name, frames := range mustRender(t) {
		var raw bytes.Buffer
		for _, f := range frames {
			binary.Write(&raw, binary.LittleEndian, [2]float32{float32(f[0]), float32(f[1])})
		}
		cmd := exec.Command("ffmpeg", "-nostats", "-f", "f32le", "-ar", "48000", "-ac", "2", "-i", "-", "-af", "ebur128=peak=true", "-f", "null", "-")
		cmd.Stdin = &raw
		text, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatal(err)
		}
		if lufs := figure(text, "I"); math.Abs(lufs+20) > 0.11 {
			t.Errorf("%s: %.1f LUFS", name, lufs)
		}
		if peak := figure(text, "Peak"); peak > -1 {
			t.Errorf("%s: true peak %.1f dBTP", name, peak)
		}
		if seconds := float64(len(frames)) / rateHz; name != "pink" && (seconds < 24 || seconds > 32) {
			t.Errorf("%s lasts %.1f s", name, seconds)
		}
	}
}

func TestRenderIsTheSameAgain(t *testing.T) {
	for name, frames := range mustRender(t) {
		p, err := Find(name)
		if err != nil {
			t.Fatal(err)
		}
		again, err := p.render()
		if err != nil || !slices.Equal(frames, again) {
			t.Errorf("%s: rendered again it differs, %v", name, err)
		}
	}
}

// Another seed is another take of the same piece: the sound differs, the
// music does not.
func TestSeedIsATake(t *testing.T) {
	s := mustParse(t, "kettle")
	s.seed++
	take, err := s.render()
	if err != nil {
		t.Fatal(err)
	}
	first := mustRender(t)["kettle"]
	if slices.Equal(take, first) {
		t.Error("another seed gives the same sound")
	}
	a, b := octavesDB(first), octavesDB(take)
	for i := range a {
		if math.Abs(a[i]-b[i]) > 2 {
			t.Errorf("band %d: %.1f and %.1f dB", i, a[i], b[i])
		}
	}
}

// figures are what a sound is known by: its octaves, and the levels of 50 ms
// at five moments of it.
func figures(frames []dsp.Frame) []float64 {
	levels := octavesDB(frames)
	for second := 2; second < 24; second += 5 {
		sum := 0.0
		for _, f := range frames[second*rateHz : second*rateHz+rateHz/20] {
			sum += (f[0]*f[0] + f[1]*f[1]) / (rateHz / 10)
		}
		levels = append(levels, dsp.PowerToDB(sum))
	}
	return levels
}

// The identity goes with the sound. Where this fails because the renderer was
// changed on purpose, raise version; in any case write the figures anew.
func TestIdentityGoesWithTheSound(t *testing.T) {
	for _, want := range []struct {
		name, hash, figures string
	}{
		{"kettle", "demo:kettle:2:11:922beb42d6835d20d7f3f5dd",
			"-7.1 -5.7 -5.1 -10.3 -15.0 -18.1 -18.0 -18.7 -23.6 -17.0 -25.5 -22.7 -18.9 -20.4"},
		{"lanterns", "demo:lanterns:2:5:d0b2d40bb79c58ab9bcfbc67",
			"-7.2 -7.5 -4.7 -9.4 -9.8 -17.5 -19.9 -20.9 -24.5 -27.4 -27.7 -18.7 -24.0 -18.3"},
		{"pink", "demo:pink:2:1",
			"-11.6 -11.5 -11.3 -11.4 -11.4 -11.4 -11.4 -11.5 -16.3 -23.1 -23.5 -23.6 -22.5 -23.4"},
	} {
		p, err := Find(want.name)
		if err != nil {
			t.Fatal(err)
		}
		got := figures(mustRender(t)[want.name])
		if p.Hash != want.hash {
			t.Errorf("%s: %s, figures %.1f", p.Name, p.Hash, got)
			continue
		}
		for i, text := range strings.Fields(want.figures) {
			levelDB, err := strconv.ParseFloat(text, 64)
			if err != nil || math.Abs(levelDB-got[i]) > 0.3 {
				t.Errorf("%s sounds different under the same identity: figures %.1f, want %s", p.Name, got, want.figures)
				break
			}
		}
	}
}

func TestFind(t *testing.T) {
	if _, err := Find("none"); err == nil || err.Error() != `there is no built-in material "none"; there are kettle, lanterns, pink` {
		t.Errorf("%v", err)
	}
}

func BenchmarkRender(b *testing.B) {
	p, err := Find("kettle")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := p.render(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(p.frames), "ns/frame")
}
