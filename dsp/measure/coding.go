package measure

import (
	"math"
	"slices"

	"strop/dsp"
)

// Coding is what a lossy codec did to a clip, told from the clip before it.
//
//	NoiseDB    power of the difference over that of the clip before
//	BandsDB    the same in third-octave bands; −Inf where there is no
//	           difference, NaN where there was nothing
//	PreEchoDB  power of the difference in the 20 ms before attacks over that of
//	           the clip before, there; NaN where nothing attacks
//	HolesPct   share of places, in time and in frequency, that have lost 12 dB
//	           or more: what comes and goes there is heard as swirl
type Coding struct {
	NoiseDB, PreEchoDB, HolesPct float64
	BandsDB                      [dsp.ThirdOctaves]float64
}

const (
	holeWindowS = 0.02
	holeDB      = 12
	holeRangeDB = 50 // under the loudest place of its window
	attackHopS  = 0.005
	attackDB    = 10   // a rise from 20 ms to the next 5 ms
	attackLeast = 1e-3 // of the loudest power
	preEchoHops = 4    // before an attack
)

// CodingOf compares coded with what it was made of, frame by frame: the delay
// of the codec must have been taken out.
//
// Source: pre-echo and the holes of a coarse quantiser as Painter & Spanias,
// Perceptual coding of digital audio, Proc. IEEE 88(4) (2000), describe them
// (from memory); the figures are our own.
func CodingOf(before, coded []dsp.Frame, rateHz float64) Coding {
	checkRate(rateHz)
	difference := make([]dsp.Frame, min(len(before), len(coded)))
	for i := range difference {
		difference[i] = dsp.Frame{coded[i][0] - before[i][0], coded[i][1] - before[i][1]}
	}
	before, coded = before[:len(difference)], coded[:len(difference)]
	c := Coding{
		NoiseDB:   RMSDBFS(difference) - RMSDBFS(before),
		PreEchoDB: preEchoDB(before, difference, rateHz),
		HolesPct:  holesPct(before, coded, rateHz),
		BandsDB:   ThirdOctavesDB(difference, rateHz),
	}
	for i, db := range ThirdOctavesDB(before, rateHz) {
		c.BandsDB[i] -= db
	}
	return c
}

// preEchoDB looks before the attacks.
func preEchoDB(before, difference []dsp.Frame, rateHz float64) float64 {
	hop := int(attackHopS * rateHz)
	sound, noise := hopPowers(before, hop), hopPowers(difference, hop)
	if len(sound) <= preEchoHops {
		return math.NaN()
	}
	least := attackLeast * slices.Max(sound)
	var there, added float64
	for k := preEchoHops; k < len(sound); k++ {
		quiet := mean(sound[k-preEchoHops : k])
		if sound[k] > least && sound[k] > quiet*math.Pow(10, attackDB/10) {
			there += quiet
			added += mean(noise[k-preEchoHops : k])
		}
	}
	return dsp.PowerToDB(added / there)
}

// hopPowers is the mean power of each hop, both channels together.
func hopPowers(buf []dsp.Frame, hop int) []float64 {
	powers := make([]float64, len(buf)/hop)
	for k := range powers {
		for _, f := range buf[k*hop:][:hop] {
			powers[k] += (f[0]*f[0] + f[1]*f[1]) / float64(2*hop)
		}
	}
	return powers
}

// holesPct counts places, a bin of a short window each.
func holesPct(before, coded []dsp.Frame, rateHz float64) float64 {
	n := 1 << int(math.Round(math.Log2(holeWindowS*rateHz)))
	a, b := newStereoFFT(hann(n)), newStereoFFT(hann(n))
	places, holes, powers := 0, 0, make([]float64, n/2)
	for centre := n / 2; centre+n/2 <= len(before); centre += n / 2 {
		a.transform(before, centre)
		b.transform(coded, centre)
		for k := 1; k < n/2; k++ {
			powers[k] = a.power(k)
		}
		least := slices.Max(powers) * math.Pow(10, -holeRangeDB/10)
		for k := 1; k < n/2; k++ {
			if powers[k] > least {
				places++
				if b.power(k) < powers[k]*math.Pow(10, -holeDB/10.0) {
					holes++
				}
			}
		}
	}
	return 100 * float64(holes) / float64(max(places, 1))
}

// power is that of both channels in bin k of the last transform, 0 < k < n/2.
func (s *stereoFFT) power(k int) float64 {
	n := len(s.window)
	return square(s.yr[k], s.yi[k]) + square(s.yr[n-k], s.yi[n-k])
}

const (
	edgeWindowS = 0.085
	edgeCellHz  = 100
	edgeCells   = 6 // of sound below an edge
	edgeGap     = 2 // cells in which it falls
	edgeDropDB  = 15
	edgeFromHz  = 2000
	edgeToRate  = 0.475 // above this share of the rate everything ends
)

// BandEdgeHz is where a clip ends in frequency, as a lossy codec or a lower
// sample rate leaves it: the median level of the 600 Hz below lies 15 dB or
// more above everything from 200 Hz above the edge on. Where a clip has no such
// edge between 2 kHz and 0.475 of the rate, it is 0.
// Source: common practice, no source.
func BandEdgeHz(buf []dsp.Frame, rateHz float64) float64 {
	checkRate(rateHz)
	power, binHz := meanSpectrum(buf, rateHz, edgeWindowS)
	levels := make([]float64, int(rateHz/2/edgeCellHz))
	for c := range levels {
		lo, hi := int(math.Ceil(float64(c)*edgeCellHz/binHz)), int(math.Ceil(float64(c+1)*edgeCellHz/binHz))
		levels[c] = dsp.PowerToDB(mean(power[lo:hi]))
	}
	last := int(edgeToRate * rateHz / edgeCellHz)
	best, level, at := 0.0, 0.0, 0
	for c := edgeFromHz / edgeCellHz; c+edgeGap < last; c++ {
		below := slices.Clone(levels[c-edgeCells : c])
		slices.Sort(below)
		if drop := below[edgeCells/2] - slices.Max(levels[c+edgeGap:last]); drop > best {
			best, level, at = drop, math.Pow(10, below[edgeCells/2]/10), c
		}
	}
	if best < edgeDropDB {
		return 0
	}
	return edgeWithin(power, binHz, float64(at-edgeCells)*edgeCellHz, float64(at+edgeGap)*edgeCellHz, level)
}

// edgeWithin is the highest frequency from loHz to hiHz at which three bins are
// no more than 12 dB under a level.
func edgeWithin(power []float64, binHz, loHz, hiHz, level float64) float64 {
	k := min(int(hiHz/binHz), len(power)-2)
	for k > int(loHz/binHz) && mean(power[k-1:k+2]) < level/16 {
		k--
	}
	return float64(k) * binHz
}

// meanSpectrum is the mean power of both channels in each bin, over windows
// that overlap by half.
func meanSpectrum(buf []dsp.Frame, rateHz, windowS float64) (power []float64, binHz float64) {
	n := 1 << int(math.Round(math.Log2(windowS*rateHz)))
	fft := newStereoFFT(kaiserPoints(n))
	power = make([]float64, n/2)
	for centre := n / 2; centre+n/2 <= len(buf); centre += n / 2 {
		fft.transform(buf, centre)
		for k := 1; k < n/2; k++ {
			power[k] += fft.power(k)
		}
	}
	return power, rateHz / float64(n)
}
