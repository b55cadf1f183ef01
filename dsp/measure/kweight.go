package measure

import (
	"math"

	"strop/dsp"
)

// kWeight is the K-weighting of ITU-R BS.1770: a shelf for the head, then a
// high-pass, on two channels.
//
// The filters are bilinear, each warped at its own corner. At 48 kHz they are
// the standard's tables; from 44.1 kHz up their response is the same within
// 0.01 dB, at 8 kHz within 0.3 dB.
// Source: ITU-R BS.1770-5 (2023), Annex 1, Tables 1 and 2; the analogue
// figures behind those tables as published in libebur128, ebur128.c. Differs from that in: the high-pass keeps its gain at
// other rates, which is 0.02 dB at 96 kHz.
type kWeight struct {
	c1, c2, a1, a2 float64 // shelf
	g1, g2         float64 // high-pass
	power          float64 // left to multiply the squares with
	s              [2]kState
	block          [128]dsp.Frame // between the two
}

// secondOrder is (b0 + b1/z + b2/z²) / (1 + a1/z + a2/z²).
type secondOrder struct{ b0, b1, b2, a1, a2 float64 }

// kState is the memory of one channel.
type kState struct {
	s1, s2         float64 // shelf
	y1, v1, z1, z2 float64 // high-pass: input, its difference, output, the one before
}

func newKWeight(rateHz float64) kWeight {
	shelf, highPass := kShelf(rateHz), kHighPass(rateHz)
	return kWeight{
		c1: shelf.b1/shelf.b0 - shelf.a1, c2: shelf.b2/shelf.b0 - shelf.a2,
		a1: shelf.a1, a2: shelf.a2, g1: highPass.a1, g2: highPass.a2,
		power: math.Pow(shelf.b0*highPass.b0, 2),
	}
}

func kShelf(rateHz float64) secondOrder {
	const freqHz, gainDB, q = 1681.974450955533, 3.999843853973347, 0.7071752369554196
	k := math.Tan(math.Pi * freqHz / rateHz)
	vh := dsp.FromDB(gainDB)
	vb := math.Pow(vh, 0.4996667741545416)
	a0 := 1 + k/q + k*k
	return secondOrder{
		(vh + vb*k/q + k*k) / a0, 2 * (k*k - vh) / a0, (vh - vb*k/q + k*k) / a0,
		2 * (k*k - 1) / a0, (1 - k/q + k*k) / a0,
	}
}

// kHighPass has at every rate the gain of Table 2 at 48 kHz, whose numerator is
// 1 −2 1 where a bilinear design would have it divided by a0.
func kHighPass(rateHz float64) secondOrder {
	const freqHz, q, tableRateHz = 38.13547087602444, 0.5003270373238773, 48000
	a0 := func(k float64) float64 { return 1 + k/q + k*k }
	k := math.Tan(math.Pi * freqHz / rateHz)
	b := a0(math.Tan(math.Pi*freqHz/tableRateHz)) / a0(k)
	return secondOrder{b, -2 * b, b, 2 * (k*k - 1) / a0(k), (1 - k/q + k*k) / a0(k)}
}

// energy filters buf and returns sum plus the squares of the result, by
// channel; they are still to be multiplied by power, so that both filters
// may start with a coefficient of 1. A block goes through one filter, then
// the other: the state of both together would not stay in registers.
func (k *kWeight) energy(buf []dsp.Frame, sum dsp.Frame) dsp.Frame {
	for len(buf) > 0 {
		n := min(len(buf), len(k.block))
		k.shelve(k.block[:n], buf[:n])
		sum = k.squares(k.block[:n], sum)
		buf = buf[n:]
	}
	return sum
}

// shelve is y = x + s1, s1 = c1·x + s2 − a1·s1, s2 = c2·x − a2·s1: the filter
// in state-space form, which has the shortest way from one sample to the next.
func (k *kWeight) shelve(out, buf []dsp.Frame) {
	c1, c2, a1, a2 := k.c1, k.c2, k.a1, k.a2
	ls1, ls2, rs1, rs2 := k.s[0].s1, k.s[0].s2, k.s[1].s1, k.s[1].s2
	out = out[:len(buf)]
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		out[i][0], out[i][1] = l+ls1, r+rs1
		lt, rt := c1*l+ls2, c1*r+rs2
		ls2, rs2 = c2*l-a2*ls1, c2*r-a2*rs1
		ls1, rs1 = lt-a1*ls1, rt-a1*rs1
	}
	k.s[0].s1, k.s[0].s2, k.s[1].s1, k.s[1].s2 = ls1, ls2, rs1, rs2
}

// squares passes buf through the high-pass, whose numerator 1 −2 1 is two
// differences, and adds the squares to sum.
func (k *kWeight) squares(buf []dsp.Frame, sum dsp.Frame) dsp.Frame {
	g1, g2 := k.g1, k.g2
	ly1, lv1, lz1, lz2 := k.s[0].y1, k.s[0].v1, k.s[0].z1, k.s[0].z2
	ry1, rv1, rz1, rz2 := k.s[1].y1, k.s[1].v1, k.s[1].z1, k.s[1].z2
	lSum, rSum := sum[0], sum[1]
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		lv, rv := l-ly1, r-ry1
		ly1, ry1 = l, r
		lz, rz := (lv-lv1-g2*lz2)-g1*lz1, (rv-rv1-g2*rz2)-g1*rz1
		lv1, rv1 = lv, rv
		lz2, lz1, rz2, rz1 = lz1, lz, rz1, rz
		lSum += lz * lz
		rSum += rz * rz
	}
	k.s[0].y1, k.s[0].v1, k.s[0].z1, k.s[0].z2 = ly1, lv1, lz1, lz2
	k.s[1].y1, k.s[1].v1, k.s[1].z1, k.s[1].z2 = ry1, rv1, rz1, rz2
	return dsp.Frame{lSum, rSum}
}

// settle drops what is left of a sound that ended 600 dB ago, before the
// machine has to count in its slow, smallest numbers.
func (k *kWeight) settle() {
	for c := range k.s {
		if k.s[c].atRest() {
			k.s[c] = kState{}
		}
	}
}

func (s *kState) atRest() bool {
	const nothing = 1e-30
	shelf := max(math.Abs(s.s1), math.Abs(s.s2))
	highPass := max(math.Abs(s.y1), math.Abs(s.v1), math.Abs(s.z1), math.Abs(s.z2))
	return max(shelf, highPass) < nothing
}
