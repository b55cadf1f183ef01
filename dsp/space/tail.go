package space

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"sync"

	"strop/dsp/fourier"
)

// A tail is noise that decays in octave bands, each at its own rate:
//
//	h(t) = Σ noise_b(t)·rise_b(t)·10^(−3t/T_b)
//
// The bands of one Gaussian noise add up to it again. Noise does not decay
// exactly as it is told to, the less so the narrower the band and the shorter
// the decay; so the time constant of each band is corrected until its measured
// decay, from −5 to −35 dB of Schroeder's integral, is T_b.
//
// Source: J. A. Moorer, About this reverberation business, Computer Music
// Journal 3(2) (1979), for exponentially decaying noise (from memory); the
// correction is our own.
type tail struct {
	rateHz  float64
	decaysS [Bands]float64
	startS  [Bands]float64 // when each band begins
	riseS   float64        // and in which time it has risen
	levels  [Bands]float64 // ratio at time 0
}

const (
	tailEndDB   = 75      // a tail goes on down to here
	fadeMS      = 10      // and then fades away
	rounds      = 4       // of correction
	closeEnough = 0.002   // no more is corrected then
	edgeOct     = 1.0 / 6 // from the edge of a band to where it is alone
)

// frames is how long the tail is.
func (t *tail) frames() int {
	longest := 0.0
	for i, T := range t.decaysS {
		longest = max(longest, t.startS[i]+T*tailEndDB/60)
	}
	return int(longest * t.rateHz)
}

// path makes the tail from a seed, together with early reflections, whose decay
// is corrected with it.
func (t *tail) path(seed uint64, early []float64) []float64 {
	n := t.frames()
	first := newSplitter(t.rateHz, early, 2*len(early))
	noise := newSplitter(t.rateHz, whiteNoise(seed, n), n)
	h := make([]float64, n)
	for b := range Bands {
		x := noise.band(b)[:n]
		t.shape(b, x, first.band(b)[:min(len(early), n)])
		for i := range h {
			h[i] += x[i]
		}
	}
	fadeOut(h, t.rateHz)
	return h
}

func whiteNoise(seed uint64, n int) []float64 {
	r, x := rand.New(rand.NewPCG(seed, 0x5b0)), make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

// shape turns a band of noise into one that rises and decays, and adds what
// comes early in this band.
func (t *tail) shape(b int, x, early []float64) {
	start, rise := int(t.startS[b]*t.rateHz), max(1, int(t.riseS*t.rateHz))
	clear(x[:min(start, len(x))])
	for i := range min(rise, max(0, len(x)-start)) {
		x[start+i] *= t.levels[b] * math.Sin(math.Pi/2*float64(i)/float64(rise))
	}
	for i := start + rise; i < len(x); i++ {
		x[i] *= t.levels[b]
	}
	decayS := t.decaysS[b]
	fall(x, t.rateHz, 1/decayS)
	for i, e := range early {
		x[i] += e
	}
	for range rounds {
		measured := schroederS(x, t.rateHz)
		if !(measured > decayS/2 && measured < decayS*2) {
			break // a few reflections, far apart, have no decay to speak of
		}
		if math.Abs(measured-decayS) < closeEnough*decayS {
			break
		}
		fall(x, t.rateHz, 1/decayS-1/measured)
	}
}

// sine2 rises from 0 to 1 as the square of a sine.
func sine2(x float64) float64 {
	s := math.Sin(math.Pi / 2 * x)
	return s * s
}

// fall multiplies x by a decay of 60 dB in 1/perS seconds.
func fall(x []float64, rateHz, perS float64) {
	step, ratio := math.Pow(10, -3*perS/rateHz), 1.0
	for i := range x {
		x[i] *= ratio
		ratio *= step
	}
}

// fadeOut fades the last 10 ms away.
func fadeOut(h []float64, rateHz float64) {
	n := min(len(h), int(fadeMS*rateHz/1000))
	for i := range n {
		h[len(h)-1-i] *= sine2(float64(i) / float64(n))
	}
}

// schroederS is the decay time of x from −5 to −35 dB of its backward integral,
// found as the slope of a least-squares line.
func schroederS(x []float64, rateHz float64) float64 {
	total := 0.0
	for _, v := range x {
		total += v * v
	}
	var n, sx, sy, sxx, sxy float64
	left, lo, hi := total, total*math.Pow(10, -3.5), total*math.Pow(10, -0.5)
	for i, v := range x {
		left -= v * v
		if left < lo {
			break
		}
		if left <= hi && i%8 == 0 {
			t, db := float64(i), 10*math.Log10(left)
			n, sx, sy, sxx, sxy = n+1, sx+t, sy+db, sxx+t*t, sxy+t*db
		}
	}
	return -60 / ((n*sxy - sx*sy) / (n*sxx - sx*sx)) / rateHz
}

// A splitter takes a sound apart into octave bands that add up to it; the first
// and the last band take what is below and above, and a band that begins above
// half the rate is silent. The bands have no phase.
type splitter struct {
	fft    *fourier.FFT
	binHz  float64
	re, im []float64
	br, bi []float64
	out    []float64
}

// newSplitter splits x, with n frames at least to ring in.
func newSplitter(rateHz float64, x []float64, n int) *splitter {
	n = 1 << bits.Len(uint(max(n, len(x), 8)-1))
	arrays := fourier.Apart(5, n)
	s := &splitter{fft: fourier.NewFFT(n), binHz: rateHz / float64(n), out: arrays[4]}
	s.re, s.im, s.br, s.bi = arrays[0][:n/2+1], arrays[1][:n/2+1], arrays[2][:n/2+1], arrays[3][:n/2+1]
	copy(s.out, x)
	s.fft.Forward(s.re, s.im, s.out)
	return s
}

// band is one band, valid until the next call.
func (s *splitter) band(b int) []float64 {
	from, to := bandBins(b, s.binHz, len(s.re)-1)
	if from > to {
		clear(s.out)
		return s.out
	}
	clear(s.br)
	clear(s.bi)
	re, im := s.re[from:to+1], s.im[from:to+1]
	for i, share := range bandShares(s.binHz, len(s.re)-1)[b] {
		s.br[from+i], s.bi[from+i] = share*re[i], share*im[i]
	}
	s.fft.Inverse(s.out, s.br, s.bi)
	return s.out
}

// bandBins are the first and the last bin that a band reaches.
func bandBins(b int, binHz float64, last int) (from, to int) {
	reach := math.Exp2(0.5 + edgeOct)
	from, to = int(BandHz(b)/reach/binHz), min(int(BandHz(b)*reach/binHz)+1, last)
	if b == 0 {
		from = 0
	}
	if b == Bands-1 {
		to = last
	}
	return from, to
}

// binShares are the shares of each band, from its first bin to its last.
type binShares [Bands][]float64

// shareTables are the shares of all bins for a width of a bin and a last one:
// of a few lengths and rates, and made once, since they depend on nothing else.
var shareTables sync.Map

func bandShares(binHz float64, last int) *binShares {
	type bins struct {
		widthHz float64
		last    int
	}
	key := bins{binHz, last}
	if made, ok := shareTables.Load(key); ok {
		return made.(*binShares)
	}
	var table binShares
	for b := range table {
		from, to := bandBins(b, binHz, last)
		for k := from; k <= to; k++ {
			table[b] = append(table[b], bandShare(b, float64(k)*binHz))
		}
	}
	made, _ := shareTables.LoadOrStore(key, &table)
	return made.(*binShares)
}

// bandShare is the share of a frequency that belongs to a band: all shares add
// up to 1, and pass over from one band to the next in a third of an octave.
func bandShare(b int, freqHz float64) float64 {
	if freqHz > alone[b][0] && freqHz < alone[b][1] {
		return 1
	}
	share, oct := 1.0, math.Log2(freqHz/BandHz(b))
	if b > 0 {
		share *= sine2(unit((oct+0.5)/(2*edgeOct) + 0.5))
	}
	if b < Bands-1 {
		share *= sine2(unit(0.5 - (oct-0.5)/(2*edgeOct)))
	}
	return share
}

// alone is where each band is alone.
var alone = func() (edges [Bands][2]float64) {
	for b := range edges {
		edges[b] = [2]float64{BandHz(b) * math.Exp2(edgeOct-0.5), BandHz(b) * math.Exp2(0.5-edgeOct)}
	}
	return edges
}()

func unit(x float64) float64 { return min(max(x, 0), 1) }
