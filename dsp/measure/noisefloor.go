package measure

import (
	"math"
	"math/bits"
	"slices"

	"strop/dsp"
)

// NoiseFloor is the noise that is left when the sound pauses.
//
//	LevelDBFS   of all bands together: rms, 20 Hz to 20 kHz, unweighted
//	BandsDB     by third octaves, as ThirdOctavesDB
//	RumbleDBFS  rms from 8 to 40 Hz, below what most instruments play
//	HissDBFS    rms from 8 to 16 kHz, where music leaves most room
//
// A level is that of steady noise that would leave such a floor; −Inf where
// there is none.
type NoiseFloor struct {
	LevelDBFS, RumbleDBFS, HissDBFS float64
	BandsDB                         [dsp.ThirdOctaves]float64
}

const (
	floorLowS   = 0.6 // windows of the bands up to floorSplit
	floorHighS  = 0.08
	rumbleS     = 0.16
	floorSplit  = 10                  // bands of 20 to 160 Hz
	floorShare  = 0.10                // of the windows
	floorNormal = -1.2815515655446004 // what a tenth of a normal distribution lies below
	hannNoise   = 1.5                 // bandwidth of a Hann window, in bins
)

var (
	rumbleBand = [2]float64{8, 40}
	hissBand   = [2]float64{8000, 16000}
)

// NoiseFloorOf reads how low the power of each band falls: what a tenth of the
// windows lie below is taken for noise alone. How far that is below the mean of
// steady noise is known from how much noise a window holds, and is given back:
// its power is distributed as chi-squared, with
//
//	2·channels·width·time/1.5 degrees of freedom
//
// The floor is that of the noise only where the sound leaves it alone for a
// tenth of the time, in that band; else it is that of the sound, and the noise
// lies lower still. A clip should have 4 s or more.
//
// Source: R. Martin, Noise power spectral density estimation based on optimal
// smoothing and minimum statistics, IEEE Trans. Speech Audio Process. 9
// (2001). Differs from it in: a quantile takes the place of the minimum; its
// bias is that of chi-squared by E. B. Wilson, M. M. Hilferty, PNAS 17 (1931)
// (both from memory).
func NoiseFloorOf(buf []dsp.Frame, rateHz float64) (f NoiseFloor) {
	checkRate(rateHz)
	bands := make([][2]float64, dsp.ThirdOctaves)
	for i := range bands {
		bands[i][0], bands[i][1] = dsp.ThirdOctaveEdges(i)
	}
	low := floors(buf, rateHz, floorLowS, bands[:floorSplit])
	high := floors(buf, rateHz, floorHighS, bands[floorSplit:])
	copy(f.BandsDB[:], append(low, high...))
	f.LevelDBFS = TotalDB(f.BandsDB)
	f.RumbleDBFS = floors(buf, rateHz, rumbleS, [][2]float64{rumbleBand})[0]
	f.HissDBFS = floors(buf, rateHz, floorHighS, [][2]float64{hissBand})[0]
	return f
}

// floors are the levels of the noise in bands, read in windows of a time, each
// half over the one before.
func floors(buf []dsp.Frame, rateHz, windowS float64, bands [][2]float64) []float64 {
	n := 1 << bits.Len(uint(windowS*rateHz))
	window := hann(n)
	fft, powers := newStereoFFT(window), make([][]float64, len(bands))
	scale := 2 / (float64(n) * sumSquares(window))
	for centre := n / 2; centre+n/2 <= len(buf); centre += n / 2 {
		fft.transform(buf, centre)
		for i, b := range bands {
			powers[i] = append(powers[i], scale*fft.between(b[0]/rateHz, b[1]/rateHz))
		}
	}
	levels := make([]float64, len(bands))
	for i, b := range bands {
		freedom := 2 * channelsOf(buf) * (b[1] - b[0]) * float64(n) / rateHz / hannNoise
		levels[i] = dsp.PowerToDB(quantile(powers[i], floorShare) / chiSquared(freedom, floorNormal))
	}
	return levels
}

// between is Σ(|L|² + |R|²) of the bins between two frequencies, in cycles a
// frame, a bin on an edge in proportion.
func (s *stereoFFT) between(from, to float64) (sum float64) {
	n := len(s.window)
	lo, hi := from*float64(n), min(to, 0.5)*float64(n)
	for k := max(int(lo), 1); k < n/2; k++ {
		share := min(float64(k)+0.5, hi) - max(float64(k)-0.5, lo)
		if share <= 0 && float64(k) > hi {
			break
		}
		// The powers of a bin and of its mirror image are twice L's and R's.
		sum += max(share, 0) * (square(s.yr[k], s.yi[k]) + square(s.yr[n-k], s.yi[n-k])) / 2
	}
	return sum
}

// channelsOf is 1 where both channels are alike, else 2.
func channelsOf(buf []dsp.Frame) float64 {
	for _, f := range buf {
		if f[0] != f[1] {
			return 2
		}
	}
	return 1
}

// quantile is the value that a share of x lies below, 0 of nothing. It sorts x.
func quantile(x []float64, share float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	at := share * float64(len(x)-1)
	i := int(at)
	return x[i] + (at-float64(i))*(x[min(i+1, len(x)-1)]-x[i])
}

// chiSquared is the quantile of chi-squared over its mean, where normal is that
// of a normal distribution.
func chiSquared(freedom, normal float64) float64 {
	v := 2 / (9 * freedom)
	return math.Pow(max(1-v+normal*math.Sqrt(v), 0.05), 3)
}
