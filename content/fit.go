package content

import (
	"math"
	"slices"

	"strop/dsp"
	"strop/dsp/fourier"
	"strop/dsp/measure"
)

// Fit is what a stem, or the mix, does in a loop: what can be asked about it.
// It can be written as JSON and kept: a level of nothing is NothingDB, not
// −Inf.
//
//	LoudnessLUFS  integrated, ITU-R BS.1770-5
//	TruePeakDBTP  greatest true peak
//	TotalDB       power of all bands together
//	BandsDB       level of each third-octave band
//	OnsetsPerS    notes or strokes
//	CrestDB       true peak over loudness
//	Sustained     share of the time in which it sounds and holds its level, 0 to 1
//	Gaps          share of the time in which it lies 20 dB or more under its loud level, 0 to 1
//	Pitched       share of the time in which it sounds and one pitch is found, 0 to 1
//	SideDB        level of the difference of the channels over their sum
type Fit struct {
	LoudnessLUFS float64                   `json:"loudnessLUFS"`
	TruePeakDBTP float64                   `json:"truePeakDBTP"`
	TotalDB      float64                   `json:"totalDB"`
	BandsDB      [dsp.ThirdOctaves]float64 `json:"bandsDB"`
	OnsetsPerS   float64                   `json:"onsetsPerS"`
	CrestDB      float64                   `json:"crestDB"`
	Sustained    float64                   `json:"sustained"`
	Gaps         float64                   `json:"gaps"`
	Pitched      float64                   `json:"pitched"`
	SideDB       float64                   `json:"sideDB"`
}

// NothingDB stands for −Inf dB, lower than any level that can be measured.
const NothingDB = -300.0

// finiteDB is a level as a Fit keeps it.
func finiteDB(db float64) float64 {
	if !(db > NothingDB) {
		return NothingDB
	}
	return math.Min(db, -NothingDB)
}

func infiniteDB(db float64) float64 {
	if db <= NothingDB {
		return math.Inf(-1)
	}
	return db
}

// Silent reports whether there is nothing to be heard.
func (f Fit) Silent() bool { return f.LoudnessLUFS <= NothingDB }

// Facts are the levels among it, −Inf where there is nothing.
func (f Fit) Facts() measure.Facts {
	facts := measure.Facts{LoudnessLUFS: infiniteDB(f.LoudnessLUFS), TruePeakDBTP: infiniteDB(f.TruePeakDBTP), TotalDB: infiniteDB(f.TotalDB)}
	for i, db := range f.BandsDB {
		facts.BandsDB[i] = infiniteDB(db)
	}
	return facts
}

// FitOf measures the frames of a loop.
func FitOf(buf []dsp.Frame, rateHz float64) Fit {
	return fitOf(buf, rateHz, measure.FactsOf(buf, rateHz))
}

// fitOf is FitOf where the facts are known.
func fitOf(buf []dsp.Frame, rateHz float64, facts measure.Facts) Fit {
	f := Fit{
		LoudnessLUFS: finiteDB(facts.LoudnessLUFS), TruePeakDBTP: finiteDB(facts.TruePeakDBTP), TotalDB: finiteDB(facts.TotalDB),
		SideDB: finiteDB(-measure.MidSideDB(buf)),
	}
	for i, db := range facts.BandsDB {
		f.BandsDB[i] = finiteDB(db)
	}
	if f.Silent() {
		f.Gaps = 1
		return f
	}
	f.CrestDB = f.TruePeakDBTP - f.LoudnessLUFS
	h := lookAtFrames(held(buf), rateHz, 0, int64(len(buf)))
	f.OnsetsPerS = float64(len(h.strokes())) / (float64(len(buf)) / rateHz)
	f.Sustained, f.Gaps = h.holding()
	f.Pitched = pitched(buf, rateHz)
	return f
}

// What counts as a stroke, and as holding. All of these are our own choices.
const (
	strokeDB = 24.0 // least rise of all octaves together
	strokeMS = 60.0 // least distance of two strokes
	downDB   = 20.0 // under the loud level: a gap
	steadyDB = 2.0  // greatest change from a tenth of a second to the next
)

// strokes are the hops at which notes or strokes begin, at a level no more
// than 30 dB under the loud one.
func (h hops) strokes() (hops []int) {
	rises, apart := h.rises(), max(1, int(strokeMS/1000*h.rateHz))
	least := h.loudDB(1) - 30
	for i, rise := range rises {
		lo, hi := max(0, i-apart), min(len(rises), i+apart+1)
		if rise < strokeDB || rise < slices.Max(rises[lo:hi]) || levelDB(slices.Max(h.power[i:min(len(h.power), i+4)])) < least {
			continue
		}
		if n := len(hops); n == 0 || i-hops[n-1] >= apart {
			hops = append(hops, i)
		}
	}
	return hops
}

// loudDB is the level that only a twentieth of all stretches of n hops exceed.
func (h hops) loudDB(n int) float64 {
	levels := h.stretchLevels(n)
	slices.Sort(levels)
	return levels[len(levels)*95/100]
}

// stretchLevels are the levels of stretches of n hops, one at least.
func (h hops) stretchLevels(n int) []float64 {
	levels := []float64{}
	for i := 0; i+n <= len(h.power) || i == 0; i += n {
		levels = append(levels, levelDB(h.meanPower(i, min(i+n, len(h.power)))))
	}
	return levels
}

// holding is the share of the time in which the level holds, and that in
// which it is down.
func (h hops) holding() (sustained, gaps float64) {
	tenth := max(1, int(math.Round(h.rateHz/10)))
	levels, loud := h.stretchLevels(tenth), h.loudDB(tenth)
	steady, down := 0, 0
	for i, level := range levels {
		switch {
		case level <= loud-downDB:
			down++
		case i > 0 && math.Abs(level-levels[i-1]) < steadyDB:
			steady++
		}
	}
	return float64(steady) / float64(max(len(levels)-1, 1)), float64(down) / float64(len(levels))
}

// How a pitch is looked for.
const (
	pitchWindow = 4096 // frames, at rates up to 60 kHz
	lowestHz    = 40.0
	highestHz   = 1500.0
	pitchClear  = 0.9 // least normalised correlation of one period with the next
)

// pitched is the share of the windows in which the sum of the channels, no
// more than 30 dB under the loudest window, repeats with one period:
//
//	n(τ) = 2·Σ x(t)·x(t+τ) / Σ (x²(t) + x²(t+τ))
//
// Source: McLeod and Wyvill, A smarter way to find pitch, ICMC (2005): the
// normalised square difference function (from memory).
func pitched(buf []dsp.Frame, rateHz float64) float64 {
	size := pitchWindow
	for rateHz/float64(size) > 15 {
		size *= 2
	}
	p := newPitchFinder(size)
	loudest, powers, clear := 0.0, []float64{}, []bool{}
	for at := 0; at+size <= len(buf); at += size {
		power, clarity := p.clarity(buf[at:at+size], rateHz)
		loudest = max(loudest, power)
		powers, clear = append(powers, power), append(clear, clarity >= pitchClear)
	}
	n := 0
	for i, power := range powers {
		if clear[i] && power > loudest/1000 {
			n++
		}
	}
	return float64(n) / float64(max(len(powers), 1))
}

type pitchFinder struct {
	fft    *fourier.FFT
	x      []float64
	re, im []float64
}

func newPitchFinder(size int) *pitchFinder {
	fft := fourier.NewFFT(2 * size)
	return &pitchFinder{fft, make([]float64, 2*size), make([]float64, size+1), make([]float64, size+1)}
}

// clarity is the power of a window, and how clearly it repeats: the highest
// n(τ) after its first fall below half.
func (p *pitchFinder) clarity(buf []dsp.Frame, rateHz float64) (power, clarity float64) {
	n := len(buf)
	clear(p.x)
	for i, f := range buf {
		p.x[i] = f[0] + f[1]
		power += p.x[i] * p.x[i]
	}
	if power == 0 {
		return 0, 0
	}
	squares := make([]float64, n)
	for i := range squares {
		squares[i] = p.x[i] * p.x[i]
	}
	p.fft.Forward(p.re, p.im, p.x)
	for k, re := range p.re {
		p.re[k], p.im[k] = re*re+p.im[k]*p.im[k], 0
	}
	p.fft.Inverse(p.x, p.re, p.im)
	norm, fallen := 2*power, false
	scale := power / p.x[0]
	for lag := 1; lag < min(n/2, int(rateHz/lowestHz)); lag++ {
		norm -= squares[lag-1] + squares[n-lag]
		value := 2 * scale * p.x[lag] / max(norm, 1e-30)
		fallen = fallen || value < 0.5
		if fallen && lag >= int(rateHz/highestHz) {
			clarity = max(clarity, value)
		}
	}
	return power, clarity
}
