package wav

import (
	"encoding/binary"
	"math"
	"math/rand/v2"

	"strop/dsp"
)

// quantizer turns frames into the bytes of a sample format.
type quantizer struct {
	sample   Sample
	channels int
	steps    float64   // of an integer, from silence to full scale
	dither   *rand.PCG // nil for none
	clipped  int64
}

func newQuantizer(f WriteFormat) quantizer {
	q := quantizer{sample: f.Sample, channels: f.Channels}
	if f.Sample.float() {
		return q
	}
	q.steps = math.Ldexp(1, 8*f.Sample.Bytes()-1)
	if !f.NoDither {
		q.dither = rand.NewPCG(f.Seed, 0)
	}
	return q
}

// pack appends frames to b.
func (q *quantizer) pack(b []byte, frames []dsp.Frame) []byte {
	for i := range frames {
		for _, v := range frames[i][:q.channels] {
			b = q.append(b, v)
		}
	}
	return b
}

func (q *quantizer) append(b []byte, v float64) []byte {
	switch q.sample {
	case Float32:
		return binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
	case Float64:
		return binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	n := q.integer(v)
	switch q.sample {
	case Uint8:
		return append(b, byte(n+128))
	case Int16:
		return binary.LittleEndian.AppendUint16(b, uint16(n))
	case Int24:
		return append(b, byte(n), byte(n>>8), byte(n>>16))
	}
	return binary.LittleEndian.AppendUint32(b, uint32(n))
}

// integer is v in steps, dithered, rounded, and held within what fits.
func (q *quantizer) integer(v float64) int32 {
	v *= q.steps
	if q.dither != nil {
		v += uniform(q.dither.Uint64()) + uniform(q.dither.Uint64())
	}
	v = math.Round(v)
	held := min(max(v, -q.steps), q.steps-1)
	if held != v {
		q.clipped++
	}
	return int32(held)
}

// uniform is from -0.5 up to 0.5.
func uniform(bits uint64) float64 { return float64(int64(bits)>>11) / (1 << 53) }
