// Package pcmtest holds every decoder to the contract of [pcm.Source], and
// gives their tests sound, and programs from outside to compare with.
package pcmtest

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"strop/content/pcm"
	"strop/dsp"
)

// Open is what every decoder has.
type Open = func(io.ReadSeeker) (pcm.Source, error)

// All is the frames of src to its end, or the first max of them, and its error.
func All(src pcm.Source, max int) ([]dsp.Frame, error) {
	var all []dsp.Frame
	buf := make([]dsp.Frame, 1009)
	for len(all) < max {
		n, ok := src.Stream(buf)
		all = append(all, buf[:n]...)
		if !ok {
			break
		}
	}
	return all, src.Err()
}

// Decode opens file and is its format and frames. Any error fails the test.
func Decode(tb testing.TB, open Open, file []byte) (pcm.Format, []dsp.Frame) {
	tb.Helper()
	src, err := open(bytes.NewReader(file))
	if err != nil {
		tb.Fatal(err)
	}
	all, err := All(src, math.MaxInt)
	if err != nil {
		tb.Fatalf("after %d frames: %v", len(all), err)
	}
	return src.Format(), all
}

// Music is n frames that a codec has to work for: sines that come and go,
// noise, and one click, different left and right, at most 0.9 of full scale.
func Music(n int, rateHz float64) []dsp.Frame {
	rng := rand.New(rand.NewPCG(7, 11))
	frames := make([]dsp.Frame, n)
	for i := range frames {
		t := float64(i) / rateHz
		swell := 0.5 - 0.5*math.Cos(2*math.Pi*1.5*t)
		frames[i][0] = 0.3*swell*math.Sin(2*math.Pi*220*t) + 0.1*math.Sin(2*math.Pi*1234*t) + 0.04*rng.NormFloat64()
		frames[i][1] = 0.3*swell*math.Sin(2*math.Pi*331*t) + 0.1*math.Sin(2*math.Pi*987*t) + 0.04*rng.NormFloat64()
	}
	for ch := range 2 {
		for i := range frames {
			frames[i][ch] = min(max(frames[i][ch], -0.9), 0.9)
		}
	}
	if n > 0 {
		frames[n/3] = dsp.Frame{0.9, -0.9}
	}
	return frames
}

// Raw is frames as little-endian integers of 16 or 24 bits, interleaved, the
// first channels channels of them, rounded to nearest.
func Raw(frames []dsp.Frame, bits, channels int) []byte {
	var raw []byte
	for _, f := range frames {
		for ch := range channels {
			v := uint32(int32(math.Round(f[ch] * math.Ldexp(1, bits-1))))
			raw = append(raw, binary.LittleEndian.AppendUint32(nil, v)[:bits/8]...)
		}
	}
	return raw
}

// FromRaw is the reverse of Raw; mono is given on both channels.
func FromRaw(raw []byte, bits, channels int) []dsp.Frame {
	frames := make([]dsp.Frame, len(raw)/(bits/8*channels))
	for i := range frames {
		for ch := range channels {
			var b [4]byte
			at := (i*channels + ch) * bits / 8
			copy(b[4-bits/8:], raw[at:at+bits/8])
			frames[i][ch] = float64(int32(binary.LittleEndian.Uint32(b[:]))) / (1 << 31)
		}
		if channels == 1 {
			frames[i][1] = frames[i][0]
		}
	}
	return frames
}

// FromFloats is the frames of little-endian 32-bit floats, interleaved.
func FromFloats(raw []byte, channels int) []dsp.Frame {
	frames := make([]dsp.Frame, len(raw)/(4*channels))
	for i := range frames {
		for ch := range 2 {
			at := (i*channels + ch%channels) * 4
			frames[i][ch] = float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[at:])))
		}
	}
	return frames
}

// Run gives stdin to a program and is what it writes. Where the program is not
// installed, the test is skipped and says which one it is.
func Run(tb testing.TB, stdin []byte, name string, args ...string) []byte {
	tb.Helper()
	if _, err := exec.LookPath(name); err != nil {
		tb.Skipf("needs the program %s, which was not found", name)
	}
	var out, errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(stdin), &out, &errs
	if err := cmd.Run(); err != nil {
		tb.Fatalf("%s %s: %v: %s", name, strings.Join(args, " "), err, errs.String())
	}
	return out.Bytes()
}

// ModuleDir is the folder of a module of go.mod in the module cache.
func ModuleDir(tb testing.TB, module string) string {
	tb.Helper()
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", module).Output()
	dir := strings.TrimSpace(string(out))
	if err != nil || !filepath.IsAbs(dir) {
		tb.Skipf("needs the module %s in the module cache: %v", module, err)
	}
	return dir
}

// WorstDB is the greatest difference between two runs of frames, in dB
// relative to full scale. Different lengths fail the test.
func WorstDB(tb testing.TB, got, want []dsp.Frame) float64 {
	tb.Helper()
	if len(got) != len(want) {
		tb.Fatalf("%d frames, want %d", len(got), len(want))
	}
	worst := 0.0
	for i := range got {
		worst = max(worst, math.Abs(got[i][0]-want[i][0]), math.Abs(got[i][1]-want[i][1]))
	}
	return dsp.ToDB(worst)
}

// Lag is how many frames got comes later than want, as the peak of the
// correlation of their left channels tells, up to maxLag either way.
func Lag(got, want []dsp.Frame, maxLag int) int {
	best, at := 0.0, 0
	for lag := -maxLag; lag <= maxLag; lag++ {
		sum := 0.0
		for i := maxLag; i < min(len(got), len(want))-maxLag; i++ {
			sum += got[i+lag][0] * want[i][0]
		}
		if sum > best {
			best, at = sum, lag
		}
	}
	return at
}

// A decoder may allocate this much at once, and this much per frame in all.
const (
	maxOpen     = 96 << 20
	maxPerFrame = 256
)

// CheckHostile opens file, which may be anything, and decodes its first
// seconds. It fails if that panics, if it allocates beyond its bounds, if a
// frame is no number, or if an error is not a plain sentence.
func CheckHostile(tb testing.TB, open Open, file []byte) {
	tb.Helper()
	const maxFrames = 200_000
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	n, err := count(tb, open, file, maxFrames)
	runtime.ReadMemStats(&after)
	if got := after.TotalAlloc - before.TotalAlloc; got > maxOpen+uint64(n)*maxPerFrame {
		tb.Errorf("%d bytes allocated for %d frames of a file of %d bytes", got, n, len(file))
	}
	if err != nil {
		CheckSentence(tb, err)
	}
}

func count(tb testing.TB, open Open, file []byte, max int) (n int, err error) {
	src, err := open(bytes.NewReader(file))
	if err != nil {
		return 0, err
	}
	var buf [512]dsp.Frame
	for n < max {
		got, ok := src.Stream(buf[:])
		for _, f := range buf[:got] {
			if sum := f[0] + f[1]; math.IsNaN(sum) || math.IsInf(sum, 0) {
				tb.Fatalf("a frame is %v", f)
			}
		}
		n += got
		if !ok {
			break
		}
	}
	return n, src.Err()
}

// CheckSentence fails if err is not one line for a person: in lower case, of
// some words, without the names of packages or types.
func CheckSentence(tb testing.TB, err error) {
	tb.Helper()
	text := err.Error()
	if strings.ContainsAny(text, "\n\t") || len(strings.Fields(text)) < 4 || len(text) > 250 ||
		strings.Contains(text, "frame.") || strings.Contains(text, "parse") || strings.Contains(text, "runtime") {
		tb.Errorf("not a plain sentence: %q", text)
	}
}

// Damage is file cut short, with bits flipped, with a part taken out, and with
// a part overwritten: n variants that are the same every time.
func Damage(file []byte, n int) [][]byte {
	rng := rand.New(rand.NewPCG(uint64(len(file)), 5))
	all := make([][]byte, n)
	for i := range all {
		v := bytes.Clone(file)
		at := rng.IntN(len(v))
		if rng.IntN(2) == 0 {
			at = rng.IntN(min(len(v), 300)) // headers are where claims are made
		}
		switch i % 4 {
		case 0:
			v = v[:at]
		case 1:
			v[at] ^= 1 << rng.IntN(8)
		case 2:
			v = append(v[:at], v[min(len(v), at+1+rng.IntN(50)):]...)
		case 3:
			for j := at; j < min(len(v), at+8); j++ {
				v[j] = byte(rng.Uint32())
			}
		}
		all[i] = v
	}
	return all
}
