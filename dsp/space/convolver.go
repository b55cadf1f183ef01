package space

import (
	"fmt"
	"sync"

	"strop/dsp"
	"strop/dsp/fourier"
)

// Convolver convolves with an impulse response in stereo.
//
// It is a partitioned overlap-save convolution: the response is cut into pieces
// of block frames, later ones of up to 16384, each transformed once; a block of
// input is transformed, multiplied with the pieces that are due, added up and
// transformed back. The pieces of a size are all alike (uniform partitions);
// those of the next size begin where their results are wanted at the earliest,
// so that all sizes have their results ready at the same moment.
//
// Latency: block frames. The blocks are counted from Reset, so any split of
// the input gives the same bits. The result is that of the convolution sum to
// 1e-12 of the largest value.
//
// Source: W. G. Gardner, Efficient convolution without input-output delay, JAES
// 43(3) (1995); F. Wefers, Partitioned convolution algorithms for real-time
// auralization (2014) (from memory).
type Convolver struct {
	block   int
	kernel  *kernel
	direct  float64 // how much of the input itself comes out, at the same latency
	at      int     // frames into the block
	in, out [][2]float64
	stages  []*stage
}

var (
	_ dsp.Processor = (*Convolver)(nil)
	_ dsp.Delayer   = (*Convolver)(nil)
	_ dsp.Settler   = (*Convolver)(nil)
	_ dsp.Renderer  = (*Convolver)(nil)
	_ Reverberator  = (*Convolver)(nil)
)

const (
	leastBlock = 16
	mostBlock  = 4096
	mostPiece  = 16384
	growth     = 16 // from one size of pieces to the next, at most
)

// NewConvolver convolves with r in blocks of block frames, a power of two from
// 16 to 4096. Smaller blocks cost more time.
func NewConvolver(r *Response, block int) (*Convolver, error) {
	if block < leastBlock || block > mostBlock || block&(block-1) != 0 {
		return nil, fmt.Errorf("a convolution in blocks of %d frames; take a power of two from %d to %d", block, leastBlock, mostBlock)
	}
	if err := r.check(); err != nil {
		return nil, err
	}
	return newConvolver(newKernel(r, block), 0), nil
}

// newConvolver is a convolver at rest; more than one may share a kernel.
func newConvolver(k *kernel, direct float64) *Convolver {
	c := &Convolver{block: k.block, kernel: k, direct: direct, in: make([][2]float64, k.block), out: make([][2]float64, k.block)}
	for i := range k.parts {
		c.stages = append(c.stages, newStage(&k.parts[i]))
	}
	return c
}

// DelayFrames is the length of a block.
func (c *Convolver) DelayFrames() int { return c.block }

// SettleFrames is the length of the response, and the latency.
func (c *Convolver) SettleFrames() int { return c.kernel.response.Len() + c.block }

// Response is what is convolved with: of a reverb what it adds to the direct
// sound, pre-delay, width and level included. It is not to be changed.
func (c *Convolver) Response() *Response { return c.kernel.response }

// Reset forgets what was heard.
func (c *Convolver) Reset() {
	c.at = 0
	clear(c.in)
	clear(c.out)
	for i := range c.stages {
		c.stages[i].reset()
	}
}

// Process convolves buf in place.
func (c *Convolver) Process(buf []dsp.Frame) { c.run(buf, false) }

// Render is Process, each channel on a core of its own.
func (c *Convolver) Render(buf []dsp.Frame) { c.run(buf, true) }

func (c *Convolver) run(buf []dsp.Frame, cores bool) {
	for len(buf) > 0 {
		n := min(len(buf), c.block-c.at)
		c.exchange(buf[:n])
		buf = buf[n:]
		c.at += n
		if c.at == c.block {
			c.at = 0
			c.turn(cores)
		}
	}
}

// exchange gives the results of the block before for the frames of this one.
func (c *Convolver) exchange(buf []dsp.Frame) {
	in, out, direct := c.in[c.at:][:len(buf)], c.out[c.at:][:len(buf)], c.direct
	for i, x := range buf {
		buf[i] = dsp.Frame{direct*in[i][0] + out[i][0], direct*in[i][1] + out[i][1]}
		in[i] = x
	}
}

// turn convolves a block that is complete.
func (c *Convolver) turn(cores bool) {
	clear(c.out)
	for _, s := range c.stages {
		if s.take(c.in) {
			if cores && s.size >= mostBlock {
				s.convolveApart()
			} else {
				s.convolve()
			}
		}
		s.give(c.out)
	}
}

// A kernel is an impulse response, transformed. It is never changed, so that
// convolvers may share it.
type kernel struct {
	block    int
	response *Response
	parts    []pieces
}

// pieces are the part of a kernel that is cut into pieces of one size.
type pieces struct {
	size  int
	paths [2][2]spectra
}

func newKernel(r *Response, block int) *kernel {
	k := &kernel{block: block, response: r}
	from, n := 0, r.Len()
	for size := block; from < n; {
		next := min(size*growth, mostPiece)
		to := next - block
		if next == size || to >= n {
			to = n
		}
		p := pieces{size: size}
		for in := range 2 {
			for out := range 2 {
				h := r[in][out]
				p.paths[in][out] = transformed(h[min(from, len(h)):min(to, len(h))], size)
			}
		}
		k.parts = append(k.parts, p)
		from, size = to, next
	}
	return k
}

// spectra are spectra of the same length, one after the other.
type spectra struct {
	count, stride int
	re, im        []float64
}

// newSpectra has room for count spectra of size+1 bins. The stride keeps them
// off powers of two, which collide in the cache.
func newSpectra(count, size int) spectra {
	stride := size + 8
	return spectra{count, stride, make([]float64, count*stride), make([]float64, count*stride)}
}

func (s *spectra) at(i, size int) (re, im []float64) {
	at := i * s.stride
	return s.re[at:][:size+1], s.im[at:][:size+1]
}

// transformed cuts h into pieces of size frames and transforms each, as the
// first half of twice as many.
func transformed(h []float64, size int) spectra {
	s := newSpectra((len(h)+size-1)/size, size)
	if s.count == 0 {
		return s
	}
	fft, x := fourier.NewFFT(2*size), make([]float64, 2*size)
	for i := range s.count {
		clear(x)
		copy(x[:size], h[i*size:])
		re, im := s.at(i, size)
		fft.Forward(re, im, x)
	}
	return s
}

// A stage convolves with the pieces of one size.
type stage struct {
	*pieces
	fft    [2]*fourier.FFT // for each side
	filled int             // frames of the block in hand
	in     [2][]float64    // the block before and the block in hand
	past   [2]spectra      // of the blocks that are still needed, in a ring
	newest int             // index into past
	sums   [2]spectra      // one of each output, to add up in
	result [2][]float64
	out    [2][]float64
}

func newStage(p *pieces) *stage {
	s := &stage{pieces: p}
	for side := range 2 {
		s.fft[side], s.result[side] = fourier.NewFFT(2*p.size), make([]float64, 2*p.size)
		s.sums[side] = newSpectra(1, p.size)
		s.in[side], s.out[side] = make([]float64, 2*p.size), make([]float64, p.size)
		s.past[side] = newSpectra(max(p.paths[side][0].count, p.paths[side][1].count), p.size)
	}
	return s
}

func (s *stage) reset() {
	s.filled, s.newest = 0, 0
	for side := range 2 {
		clear(s.in[side])
		clear(s.out[side])
		clear(s.past[side].re)
		clear(s.past[side].im)
	}
}

// take takes a block in, and reports whether its own is complete.
func (s *stage) take(block [][2]float64) bool {
	left, right := s.in[0][s.size+s.filled:][:len(block)], s.in[1][s.size+s.filled:][:len(block)]
	for i, x := range block {
		left[i], right[i] = x[0], x[1]
	}
	s.filled += len(block)
	if s.filled < s.size {
		return false
	}
	s.filled = 0
	return true
}

// give adds what the stage has for the next block.
func (s *stage) give(block [][2]float64) {
	left, right := s.out[0][s.filled:][:len(block)], s.out[1][s.filled:][:len(block)]
	for i := range block {
		block[i][0] += left[i]
		block[i][1] += right[i]
	}
}

// convolve works on a block that is complete.
func (s *stage) convolve() {
	s.newest++
	s.hear(0)
	s.hear(1)
	for from := 0; from <= s.size; from += stretchBins {
		s.add(0, from)
		s.add(1, from)
	}
	s.tell(0)
	s.tell(1)
}

// convolveApart is convolve with a core for each side.
func (s *stage) convolveApart() {
	s.newest++
	var other sync.WaitGroup
	other.Go(func() { s.hear(1) })
	s.hear(0)
	other.Wait()
	answer := func(out int) {
		for from := 0; from <= s.size; from += stretchBins {
			s.add(out, from)
		}
		s.tell(out)
	}
	other.Go(func() { answer(1) })
	answer(0)
	other.Wait()
}

// hear transforms the block of one side.
func (s *stage) hear(side int) {
	if past := &s.past[side]; past.count > 0 {
		re, im := past.at(s.newest%past.count, s.size)
		s.fft[side].Forward(re, im, s.in[side])
	}
	copy(s.in[side], s.in[side][s.size:])
}

// stretchBins is how many bins are added up at a time: so few that the sums and
// the input stay in the nearest cache for both outputs.
const stretchBins = 256

// add sets the sums of one output, from a bin on, to the products of the past
// blocks of both inputs with the pieces of their paths.
func (s *stage) add(out, from int) {
	to := min(from+stretchBins, s.size+1)
	re, im := s.sums[out].at(0, s.size)
	re, im = re[from:to], im[from:to]
	clear(re)
	clear(im)
	for in := range 2 {
		past, path := &s.past[in], &s.paths[in][out]
		for i := range path.count {
			hr, hi := path.at(i, s.size)
			xr, xi := past.at((s.newest-i+past.count)%past.count, s.size)
			fourier.MulAdd(re, im, hr[from:to], hi[from:to], xr[from:to], xi[from:to])
		}
	}
}

// tell transforms the sums of one output back.
func (s *stage) tell(out int) {
	if s.paths[0][out].count+s.paths[1][out].count == 0 {
		return
	}
	re, im := s.sums[out].at(0, s.size)
	s.fft[out].Inverse(s.result[out], re, im)
	copy(s.out[out], s.result[out][s.size:])
}
