package fault

import (
	"math"

	"strop/dsp"
)

var (
	codecRate  = dsp.Param{ID: "rateKBitS", Name: "bit rate", Unit: "kbit/s", Min: 16, Max: 512, Neutral: 512, Scale: dsp.Log}
	codecBand  = dsp.Param{ID: "bandHz", Name: "band limit", Unit: "Hz", Min: 2000, Max: 24000, Neutral: 24000, Scale: dsp.Log}
	codecJoint = dsp.Param{ID: "joint", Name: "joint stereo", Min: 0, Max: 1, Neutral: 1, Scale: dsp.Whole}
)

const (
	codecBlock    = 1024 // numbers a block at 48 kHz: 21 ms
	codecBandBark = 0.5  // width of a band in which all numbers have one step
	upBarkDB      = 12   // what a band masks of those above falls by so much a Bark
	downBarkDB    = 25   // and of those below
	tonalDB       = 18   // under its masker lies what is masked, in the lowest band
	noisyDB       = 6    // and in the highest
	topBark       = 24
	finestBits    = 16 // no step is finer than that of a word of so many bits
	searchSteps   = 12
	searchFromDB  = -40 // noise under the masking threshold
	searchToDB    = 80
)

// Codec is what a lossy codec of few bits does to sound: a band limit, noise
// that comes before what it belongs to (pre-echo), and partials that come and
// go (swirl).
//
//	rateKBitS  bits a second, both channels together     16 to 512 kbit/s; 512 is no coding at all
//	bandHz     nothing above this is coded               2000 to 24000 Hz; 24000 is no limit
//	joint      1 codes middle and side where that takes  0 or 1
//	           fewer bits than left and right
//
// It is a model that follows the published principles, no codec that exists,
// and writes no bits. Blocks of 43 ms overlap by half and are transformed, and
// the numbers rounded. The step of a band of half a Bark gives its noise the
// shape of a masking threshold: power in the band or what spreads into it, from
// 18 dB under it in the lowest band to 6 dB in the highest. Block by block the
// noise is then raised or lowered as a whole until the numbers fit into the
// bits; each is counted as
//
//	½·log2(1 + 2πe·p/d²) bits
//
// with p the mean power of four neighbours and d their step: what a Gaussian
// one takes at high resolution. All blocks are long, no bits are saved for the
// next one: both make the faults plainer than those of a good encoder at that
// rate. Latency: 2048 frames at 44.1 and 48 kHz. With rate and band neutral the
// input comes out, to the bit.
// Source: J. P. Princen, A. B. Bradley, IEEE Trans. ASSP 34(5) (1986), for the
// transform; J. D. Johnston, Transform coding of audio signals using
// perceptual noise criteria, IEEE JSAC 6(2) (1988), for steps by bands from a
// spread threshold and for the choice of middle and side (from memory); ISO/IEC
// 13818-7 for 18 and 6 dB, of tones and of noise (from memory); N. S. Jayant, P.
// Noll, Digital Coding of Waveforms (1984), for the bits (from memory).
var Codec = dsp.Spec{
	ID:     "codec",
	Name:   "lossy codec",
	Doc:    "Does what a lossy codec does at few bits: a band limit, pre-echo and swirl.",
	Source: "Princen & Bradley, IEEE Trans. ASSP 34(5), 1986; J. D. Johnston, IEEE JSAC 6(2), 1988",
	Params: []dsp.Param{codecRate, codecBand, codecJoint},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		n := int(codecBlock * math.Exp2(math.Round(math.Log2(rateHz/48000))))
		c := &codec{n: n, mdct: newMDCT(n), lines: n, joint: s.Get(codecJoint) == 1, block: make([]float64, 2*n)}
		if kbit := s.Get(codecRate); kbit < codecRate.Max {
			c.budget = kbit * 1000 * float64(n) / rateHz
		}
		if bandHz := s.Get(codecBand); bandHz < codecBand.Max {
			c.lines = min(n, 4*int(math.Round(bandHz/(rateHz/2)*float64(n)/4)))
		}
		for side := range 2 {
			c.in[side], c.out[side], c.tail[side] = make([]float64, 2*n), make([]float64, n), make([]float64, n)
			c.apart[side], c.joined[side] = newSpectrum(rateHz, n, c.lines), newSpectrum(rateHz, n, c.lines)
		}
		return c, nil
	},
}

type codec struct {
	n      int
	mdct   *mdct
	lines  int     // that are coded
	budget float64 // bits a block; 0: nothing is rounded
	joint  bool
	at     int // frames into the block
	in     [2][]float64
	out    [2][]float64
	tail   [2][]float64
	block  []float64
	apart  [2]*spectrum // left, right
	joined [2]*spectrum // middle, side
}

var (
	_ dsp.Processor = (*codec)(nil)
	_ dsp.Delayer   = (*codec)(nil)
)

// DelayFrames is two blocks.
func (c *codec) DelayFrames() int { return 2 * c.n }

// Reset begins a block with silence before it.
func (c *codec) Reset() {
	c.at = 0
	for side := range 2 {
		clear(c.in[side])
		clear(c.out[side])
		clear(c.tail[side])
	}
}

// Process codes and decodes buf in place.
func (c *codec) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), c.n-c.at)
		for side := range 2 {
			in, out := c.in[side][c.n+c.at:][:n], c.out[side][c.at:][:n]
			for i := range in {
				in[i], buf[i][side] = buf[i][side], out[i]
			}
		}
		buf = buf[n:]
		if c.at += n; c.at == c.n {
			c.at = 0
			c.turn()
		}
	}
}

// turn codes the last two blocks, of which the first is then complete.
func (c *codec) turn() {
	if c.budget == 0 && c.lines == c.n {
		for side := range 2 {
			copy(c.out[side], c.in[side][:c.n])
			copy(c.in[side], c.in[side][c.n:])
		}
		return
	}
	for side := range 2 {
		c.mdct.forward(c.apart[side].x, c.in[side])
		clear(c.apart[side].x[c.lines:])
		copy(c.in[side], c.in[side][c.n:])
	}
	if c.budget > 0 {
		c.code()
	}
	for side := range 2 {
		c.mdct.inverse(c.block, c.apart[side].x)
		out, tail := c.out[side], c.tail[side]
		for i := range out {
			out[i] = tail[i] + c.block[i]
		}
		copy(tail, c.block[c.n:])
	}
}

// code rounds left and right, or middle and side.
func (c *codec) code() {
	bits := prepare(&c.apart)
	if c.joint {
		c.mix(&c.joined, &c.apart)
		if prepare(&c.joined) < bits {
			c.round(&c.joined)
			c.mix(&c.apart, &c.joined)
			return
		}
	}
	c.round(&c.apart)
}

// mix turns left and right into middle and side, or back: (a ± b)/√2.
func (c *codec) mix(to, from *[2]*spectrum) {
	a, b, sum, difference := from[0].x, from[1].x, to[0].x, to[1].x
	for i := range a {
		sum[i], difference[i] = (a[i]+b[i])*math.Sqrt2/2, (a[i]-b[i])*math.Sqrt2/2
	}
}

// prepare finds the thresholds, and the bits that noise as loud as they would
// take.
func prepare(pair *[2]*spectrum) float64 {
	pair[0].prepare()
	pair[1].prepare()
	return pair[0].bits(1) + pair[1].bits(1)
}

// round looks for the least noise that the bits allow, in halves of what is
// left of the range, and rounds to it.
func (c *codec) round(pair *[2]*spectrum) {
	lo, hi := float64(searchFromDB), float64(searchToDB)
	for range searchSteps {
		middle := (lo + hi) / 2
		ratio := math.Pow(10, middle/10)
		if pair[0].bits(ratio)+pair[1].bits(ratio) > c.budget {
			lo = middle
		} else {
			hi = middle
		}
	}
	ratio := math.Pow(10, hi/10)
	pair[0].round(ratio)
	pair[1].round(ratio)
}

// spectrum is the numbers of a block, and how coarsely each band of them may
// be rounded.
type spectrum struct {
	x        []float64
	over     []float64 // power of each number over its threshold
	first    []int     // number of each band, and the end
	up, down []float64 // ratio of power by which masking falls from the band before, from the one after
	under    []float64 // ratio of power from a masker to what it masks, by bands
	noise    []float64 // threshold: power of the noise of each number of a band
}

func newSpectrum(rateHz float64, n, lines int) *spectrum {
	s := &spectrum{x: make([]float64, n), over: make([]float64, lines)}
	binHz, before := rateHz/2/float64(n), 0.0
	for k := range lines {
		z := bark((float64(k) + 0.5) * binHz)
		if k == 0 || z-before >= codecBandBark {
			s.first = append(s.first, k)
			s.up = append(s.up, math.Pow(10, -upBarkDB*(z-before)/10))
			s.down = append(s.down, math.Pow(10, -downBarkDB*(z-before)/10))
			s.under = append(s.under, math.Pow(10, (-tonalDB+(tonalDB-noisyDB)*min(z/topBark, 1))/10))
			before = z
		}
	}
	s.noise = make([]float64, len(s.first))
	s.first = append(s.first, lines)
	return s
}

// bark is the critical-band rate of a frequency.
// Source: E. Zwicker, E. Terhardt, JASA 68(5) (1980).
func bark(freqHz float64) float64 {
	return 13*math.Atan(0.00076*freqHz) + 3.5*math.Atan(square(freqHz/7500))
}

// prepare finds the thresholds, and what each number is over its own.
func (s *spectrum) prepare() {
	noise := s.noise
	for b := range noise {
		noise[b] = 0
		for _, v := range s.x[s.first[b]:s.first[b+1]] {
			noise[b] += v * v
		}
	}
	for b := 1; b < len(noise); b++ {
		noise[b] = max(noise[b], noise[b-1]*s.up[b])
	}
	for b := len(noise) - 1; b > 0; b-- {
		noise[b-1] = max(noise[b-1], noise[b]*s.down[b])
	}
	const finest = 1.0 / (12 << (2*finestBits - 2)) // step²/12
	for b := range noise {
		from, to := s.first[b], s.first[b+1]
		noise[b] = max(noise[b]*s.under[b]/float64(to-from), finest)
		for k := from; k < to; k++ {
			s.over[k] = s.x[k] * s.x[k] / noise[b]
		}
	}
}

// bits are what the numbers take with noise of ratio times the threshold; a
// step is √12 times the noise.
func (s *spectrum) bits(ratio float64) (sum float64) {
	factor, over := 2*math.Pi*math.E/12/ratio, s.over
	for ; len(over) >= 4; over = over[4:] {
		sum += 2 * math.Log2(1+factor*(over[0]+over[1]+over[2]+over[3])/4)
	}
	return sum
}

// round rounds the numbers to steps of √12 times the noise.
func (s *spectrum) round(ratio float64) {
	for b, noise := range s.noise {
		step := math.Sqrt(12 * noise * ratio)
		for k := s.first[b]; k < s.first[b+1]; k++ {
			s.x[k] = step * math.Round(s.x[k]/step)
		}
	}
}
