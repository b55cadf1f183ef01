package content

import (
	"math"

	"strop/dsp"
)

// hopBands is how many octave bands a hop is split into; band 0 is the
// highest octave, the last one holds everything below the others.
const hopBands = 8

// hops is a stretch of material, looked at in steps of about 5 ms.
type hops struct {
	start  int64               // frame of the first hop
	frames int                 // in one hop, a power of two
	rateHz float64             // hops per second
	power  []float64           // of each hop
	sums   []float64           // of the power of all hops before each, and of all
	bands  [][hopBands]float64 // power in each octave; they sum to power
	levels [][hopBands]float64 // the same in dB
}

// hopFrames is the power of two nearest to 5.5 ms: 256 frames at 48 kHz.
func hopFrames(rateHz float64) int {
	return 1 << int(math.Round(math.Log2(0.0055*rateHz)))
}

// frames are there to be copied from any one on, as those of a Material.
type frames interface {
	Frames(dst []dsp.Frame, start int64) int
}

// held is frames in hand.
type held []dsp.Frame

func (h held) Frames(dst []dsp.Frame, start int64) int { return copy(dst, h[start:]) }

// lookAt measures whole hops of m from frame start to before frame end.
func lookAt(m *Material, start, end int64) hops { return lookAtFrames(m, m.RateHz(), start, end) }

func lookAtFrames(m frames, rateHz float64, start, end int64) hops {
	size := hopFrames(rateHz)
	n := int(end-start) / size
	h := hops{start: start, frames: size, rateHz: rateHz / float64(size),
		power: make([]float64, n), sums: make([]float64, n+1),
		bands: make([][hopBands]float64, n), levels: make([][hopBands]float64, n)}
	buf := make([]dsp.Frame, size)
	left, right := make([]float64, size), make([]float64, size)
	for i := range n {
		m.Frames(buf, start+int64(i*size))
		for j, f := range buf {
			left[j], right[j] = f[0], f[1]
		}
		addOctaves(&h.bands[i], left)
		addOctaves(&h.bands[i], right)
		for b, p := range h.bands[i] {
			h.power[i] += p
			h.levels[i][b] = levelDB(p)
		}
		h.sums[i+1] = h.sums[i] + h.power[i]
	}
	return h
}

// addOctaves adds the mean power of x, a half for each of two channels, to
// the octaves: those of an orthonormal Haar wavelet transform, whose powers
// sum to that of x. It overwrites x. A cheap octave bank is enough to see
// onsets; its bands overlap far too much to measure anything else.
//
// Source: Tzanetakis, Essl & Cook, Audio Analysis using the Discrete Wavelet
// Transform (2001), the octave split for beat detection (from memory).
func addOctaves(bands *[hopBands]float64, x []float64) {
	scale := 1 / float64(2*len(x))
	for b := 0; b < hopBands-1 && len(x) > 1; b++ {
		half, sum := len(x)/2, 0.0
		for i := range half {
			lo, hi := x[2*i], x[2*i+1]
			diff := lo - hi
			sum += diff * diff
			x[i] = (lo + hi) * (1 / math.Sqrt2)
		}
		bands[b] += sum / 2 * scale
		x = x[:half]
	}
	for _, v := range x {
		bands[hopBands-1] += v * v * scale
	}
}

// at is the frame at which hop i begins.
func (h hops) at(i int) int64 { return h.start + int64(i*h.frames) }

// meanPower is the mean over hops i to before j, 0 where there are none.
func (h hops) meanPower(i, j int) float64 {
	return max(h.sums[j]-h.sums[i], 0) / float64(max(j-i, 1))
}

// floorDB is put under every level, so that digital silence has one.
const floorDB = -120

// levelDB is the level of a power, at least floorDB.
func levelDB(power float64) float64 { return max(dsp.PowerToDB(power), floorDB) }

// onsets is how strongly something begins at each hop: the rise in dB of each
// octave above its last three hops, weighted and summed, mean removed,
// standard deviation 1. Silence gives zeros.
//
// A band of n wavelet coefficients is weighted n/(n+8): the fewer they are,
// the more its level jumps about by chance. Levels more than 30 dB below the
// band's mean are raised to there, so that noise between notes has no onsets.
//
// Source: Bello et al., A Tutorial on Onset Detection in Music Signals (2005),
// log-energy difference; Ellis, Beat Tracking by Dynamic Programming (2007),
// normalisation (both from memory).
func (h hops) onsets() []float64 { return standardised(h.rises()) }

// rises is onsets as they are, in dB of all octaves together.
func (h hops) rises() []float64 {
	strength := make([]float64, len(h.power))
	for b := range hopBands {
		n := float64(max(h.frames>>b, 2))
		weight, mean := n/(n+8), 0.0
		for i := range h.bands {
			mean += h.bands[i][b] / float64(len(h.bands))
		}
		if mean <= 0 {
			continue
		}
		l1, l2, l3 := math.Inf(1), math.Inf(1), math.Inf(1)
		for i := range h.bands {
			level := dsp.PowerToDB(h.bands[i][b] + mean/1000)
			strength[i] += weight * max(0, level-max(l1, l2, l3))
			l1, l2, l3 = level, l1, l2
		}
	}
	return strength
}

// standardised is x with its mean removed and scaled to a standard deviation
// of 1, all zeros where x never changes.
func standardised(x []float64) []float64 {
	mean, square := 0.0, 0.0
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		square += (v - mean) * (v - mean) / float64(len(x))
	}
	scale := 0.0
	if square > 1e-12 {
		scale = 1 / math.Sqrt(square)
	}
	for i := range x {
		x[i] = (x[i] - mean) * scale
	}
	return x
}

// smoothed is x through a Gaussian window of standard deviation sigma hops.
func smoothed(x []float64, sigma float64) []float64 {
	reach := int(3 * sigma)
	window := make([]float64, 2*reach+1)
	for i := range window {
		d := float64(i-reach) / sigma
		window[i] = math.Exp(-d * d / 2)
	}
	out := make([]float64, len(x))
	for i := range out {
		for j, w := range window {
			if k := i + j - reach; k >= 0 && k < len(x) {
				out[i] += w * x[k]
			}
		}
	}
	return out
}
