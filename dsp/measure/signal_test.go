package measure

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"testing"

	"strop/dsp"
)

// segment is a stretch of a test signal: a level in dBFS of the peak of a
// sine, -Inf for silence.
type segment struct{ dBFS, seconds float64 }

var silence = math.Inf(-1)

// tone is a 1 kHz sine in both channels, its level stepping from segment to
// segment, its phase running on.
func tone(rateHz float64, segments ...segment) []dsp.Frame {
	var buf []dsp.Frame
	for _, s := range segments {
		ratio := dsp.FromDB(s.dBFS)
		for range int(math.Round(s.seconds * rateHz)) {
			y := ratio * math.Sin(2*math.Pi*1000*float64(len(buf))/rateHz)
			buf = append(buf, dsp.Frame{y, y})
		}
	}
	return buf
}

// repeated is the segments n times over.
func repeated(n int, segments ...segment) []segment {
	var all []segment
	for range n {
		all = append(all, segments...)
	}
	return all
}

// sine is a sine of one peak level in both channels.
func sine(rateHz, freqHz, dBFS, phase, seconds float64) []dsp.Frame {
	buf := make([]dsp.Frame, int(math.Round(seconds*rateHz)))
	for i := range buf {
		y := dsp.FromDB(dBFS) * math.Sin(2*math.Pi*freqHz*float64(i)/rateHz+phase)
		buf[i] = dsp.Frame{y, y}
	}
	return buf
}

// musicLike is pink noise under notes that decay, each at its own place and
// strength, between passages of different level: loud, quiet and silent.
func musicLike(rateHz float64, seed uint64, seconds float64) []dsp.Frame {
	buf := make([]dsp.Frame, int(seconds*rateHz))
	dsp.NewPink(rateHz, seed).Fill(buf)
	r := rand.New(rand.NewPCG(seed, 2))
	for i := range buf {
		passage := [5]float64{-24, -34, -18, -50, -28}[int(float64(i)/rateHz/4)%5]
		g := dsp.FromDB(passage)
		buf[i][0] *= g
		buf[i][1] *= g
	}
	for t := 0.0; t < seconds-1; t += 0.1 + 0.5*r.Float64() {
		freqHz, ratio, place := 50*math.Exp2(6*r.Float64()), 0.25*r.Float64(), r.Float64()
		start := int(t * rateHz)
		for i := range int(rateHz) {
			s := float64(i) / rateHz
			y := ratio * math.Exp(-6*s) * math.Sin(2*math.Pi*freqHz*s)
			buf[start+i][0] += y * (1 - place)
			buf[start+i][1] += y * place
		}
	}
	return buf
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.5f, want %.5f ±%g", what, got, want, tolerance)
	}
}

// inPieces feeds buf to p in blocks of changing size, empty ones among them.
func inPieces(p dsp.Processor, buf []dsp.Frame, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 3))
	for len(buf) > 0 {
		n := min(r.IntN(3000), len(buf))
		if r.IntN(3) == 0 {
			n = min(r.IntN(3), len(buf))
		}
		p.Process(buf[:n])
		buf = buf[n:]
	}
}

// rawBytes is frames as little-endian float64.
func rawBytes(buf []dsp.Frame) []byte {
	b := make([]byte, 0, 16*len(buf))
	for _, f := range buf {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(f[0]))
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(f[1]))
	}
	return b
}
