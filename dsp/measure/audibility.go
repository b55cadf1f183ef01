package measure

import (
	"fmt"
	"math"

	"strop/dsp"
)

// Audibility is the largest change of excitation in the ear between two
// renders of the same music.
//
//	DB       the change, 0 or above
//	BandHz   centre of the ear's filter where it is largest; 0 where nothing changes
//	AtS      where in the render it is well heard
//	Channel  in what
type Audibility struct {
	DB, BandHz, AtS float64
	Channel         Channel
}

// Audible compares two renders of the same length at rateHz in their left and
// right channels. For more than one comparison keep an AudibilityMeter. It
// panics where that does.
func Audible(before, after []dsp.Frame, rateHz float64) Audibility {
	m := NewAudibilityMeter(rateHz)
	m.Before(before)
	return m.After(after)
}

const (
	hopS             = 0.01
	shortS           = 0.02  // shortest frame, for bands above turnHz
	longer           = 4     // times longer are the frames for the bands below
	turnHz           = 500.0 // where the ear's filter is as wide as a short frame's line
	bandsPerCam      = 2
	lowestCam        = 1.0 // 26 Hz
	highestHz        = 16000.0
	audibilityGateDB = 45   // under the loudest excitation of the untouched render
	audibilityShare  = 0.1  // of the frames must change as much
	leastFrames      = 2    // which a click fills
	roexFloor        = 1e-5 // weight at which the ear's filter ends
)

// AudibilityMeter tells what a loop can show: by how much a change of a mix
// changes what its bands do in the ear.
//
// Both renders are cut into frames of 20 to 40 ms, every 10 ms; for bands below
// 500 Hz frames are four times longer, since the ear's filters there are
// narrower than the lines of a short frame. The spectrum of each, K-weighted as
// the way to the inner ear, is summed under the ear's filters, half an
// equivalent rectangular bandwidth apart from 26 Hz to 16 kHz:
//
//	W(g) = (1 + p·g)·e^(−p·g),  g = |f − f0|/f0,  p = 4·f0/ERB(f0)
//
// An excitation that lies 45 dB or more under the loudest of the untouched
// render counts as being just there: so what is too faint to matter changes
// nothing, and what comes up from silence changes by no more than its height
// over that. The change in a band is the one that a tenth of the frames in
// which its untouched sound counts exceed, and two frames at least; the result
// is that of the band and the channel in which it is largest. A steady gain
// of g dB reads |g|. More of the same change never reads less.
//
// Loudness is not matched here: match the renders first, where level is not
// the question. Differences that move fast, such as those of a delay, are seen
// in their spectrum only. It is a model of the ear and not the ear: 1 dB is the
// least that is usually heard (E. Zwicker; from memory).
//
// Source: B. R. Glasberg, B. C. J. Moore, Derivation of auditory filter shapes
// from notched-noise data, Hearing Research 47 (1990) (from memory); the
// weighting of ITU-R BS.1770-5. Frames, percentile and gate are our own.
type AudibilityMeter struct {
	// Channels are those compared: Left and Right unless set otherwise. A Side
	// that is faint beside the rest changes much and is heard little.
	Channels []Channel
	// Peak takes the frame that changes most for the tenth of all: for a click
	// in a busy mix.
	Peak bool

	rateHz        float64
	long, short   earFilters
	decimated     decimator
	bandsHz       []float64
	before, after Excitation
	ratios        []float64
}

// An excitation is the power under one of the ear's filters, by Channel.
type excitation = [4]float64

// An Excitation is what a render does in the ear. It is never changed, and fits
// any meter for the same rate.
type Excitation struct {
	frames int
	bands  []excitation // by frame, then band
}

// NewAudibilityMeter is a meter for frames at rateHz. It panics at a rate
// outside dsp.MinRateHz to dsp.MaxRateHz.
func NewAudibilityMeter(rateHz float64) *AudibilityMeter {
	checkRate(rateHz)
	m := &AudibilityMeter{Channels: []Channel{Left, Right}, rateHz: rateHz, decimated: newDecimator(rateHz)}
	for i := 0; ; i++ {
		freqHz := camHz(lowestCam + float64(i)/bandsPerCam)
		if freqHz > min(highestHz, 0.45*rateHz) {
			break
		}
		m.bandsHz = append(m.bandsHz, freqHz)
	}
	turn := 0
	for m.bandsHz[turn] < turnHz {
		turn++
	}
	n := 64
	for float64(n) < shortS*rateHz {
		n *= 2
	}
	m.short = newEarFilters(rateHz, n, m.bandsHz[turn:])
	m.long = newEarFilters(m.decimated.rateHz, longer*n/m.decimated.factor, m.bandsHz[:turn])
	return m
}

// camHz is the frequency that has cam equivalent rectangular bandwidths below
// it: the inverse of dsp.Cams.
func camHz(cam float64) float64 { return (math.Pow(10, cam/21.4) - 1) * 1000 / 4.37 }

// Before takes the untouched render, to which all that follow are compared.
func (m *AudibilityMeter) Before(buf []dsp.Frame) { m.before = m.excite(m.before.bands, buf) }

// After compares another render with the untouched one. It panics where its
// length is another. NaN or infinite frames make the result NaN.
func (m *AudibilityMeter) After(buf []dsp.Frame) Audibility {
	m.after = m.excite(m.after.bands, buf)
	return m.compare(1)
}

// Excite is what a render does in the ear, for Compare. Meters of their own may
// take renders in at the same time.
func (m *AudibilityMeter) Excite(buf []dsp.Frame) Excitation { return m.excite(nil, buf) }

// Compare is Before and After of two renders that were taken in, the second
// turned by turnedDB. It panics where their lengths differ.
func (m *AudibilityMeter) Compare(before, after Excitation, turnedDB float64) Audibility {
	m.before, m.after = before, after
	a := m.compare(math.Pow(10, turnedDB/10))
	m.before, m.after = Excitation{}, Excitation{}
	return a
}

// compare finds the band and channel of the largest change, after with its
// power multiplied by turned.
func (m *AudibilityMeter) compare(turned float64) Audibility {
	if m.before.frames != m.after.frames {
		panic(fmt.Sprintf("measure: renders of %d and %d hops of 10 ms cannot be compared; make them equally long", m.before.frames, m.after.frames))
	}
	gate := m.gate(turned)
	if nan := math.NaN(); math.IsNaN(gate) || math.IsInf(gate, 0) {
		return Audibility{DB: nan, BandHz: nan, AtS: nan}
	}
	best, at := Audibility{}, 0
	for b := range m.bandsHz {
		for _, c := range m.Channels {
			if db := m.change(b, c, turned, gate, best.DB); db > best.DB {
				best, at = Audibility{DB: db, BandHz: m.bandsHz[b], Channel: c}, b
			}
		}
	}
	if best.DB > 0 {
		best.AtS = m.wellHeard(at, best.Channel, turned, best.DB, gate)
	}
	return best
}

// excite is the excitation of every frame and band of buf, in the memory of
// out where it is large enough.
func (m *AudibilityMeter) excite(out []excitation, buf []dsp.Frame) Excitation {
	bands, frames := len(m.bandsHz), int(math.Ceil(float64(len(buf))/(hopS*m.rateHz)))
	if cap(out) < frames*bands {
		out = make([]excitation, frames*bands)
	}
	out = out[:frames*bands]
	low := m.decimated.process(buf)
	turn := len(m.long.bands)
	for i := range frames {
		centre := hopS * float64(i)
		row := out[i*bands : (i+1)*bands]
		m.long.excite(row[:turn], low, int(centre*m.decimated.rateHz))
		m.short.excite(row[turn:], buf, int(centre*m.rateHz))
	}
	return Excitation{frames, out}
}

// gate is the excitation that is too faint to count. Where nothing was before
// it hangs on what came.
func (m *AudibilityMeter) gate(turned float64) float64 {
	before, after := m.loudest(m.before), turned*m.loudest(m.after)
	if before == 0 || !(after <= math.MaxFloat64) {
		before = after
	}
	return before * math.Pow(10, -audibilityGateDB/10.0)
}

func (m *AudibilityMeter) loudest(x Excitation) (most float64) {
	for i := range x.bands {
		for _, c := range m.Channels {
			most = max(most, x.bands[i][c])
		}
	}
	return most
}

// ratio is by how much the power of a band changes in a frame, 1 or more.
func (m *AudibilityMeter) ratio(i int, c Channel, turned, gate float64) float64 {
	before, after := max(m.before.bands[i][c], gate), max(turned*m.after.bands[i][c], gate)
	if after > before {
		return after / before
	}
	if before == 0 {
		return 1
	}
	return before / after
}

// change is the change of a band in dB; 0 where no frame of it changes by more
// than leastDB.
func (m *AudibilityMeter) change(band int, c Channel, turned, gate, leastDB float64) float64 {
	m.ratios = m.ratios[:0]
	counted, most := 0, 1.0
	for i := band; i < len(m.before.bands); i += len(m.bandsHz) {
		if m.before.bands[i][c] > gate {
			counted++
		}
		ratio := m.ratio(i, c, turned, gate)
		most = max(most, ratio)
		m.ratios = append(m.ratios, ratio)
	}
	mostDB := dsp.PowerToDB(most)
	switch {
	case mostDB <= leastDB:
		return 0
	case m.Peak || most == 1:
		return mostDB
	}
	rank := max(leastFrames, int(audibilityShare*float64(counted)))
	return dsp.PowerToDB(nthLargest(m.ratios, min(rank, len(m.ratios))))
}

// wellHeard is when a band that changes by changeDB or more is loudest.
func (m *AudibilityMeter) wellHeard(band int, c Channel, turned, changeDB, gate float64) (seconds float64) {
	loudest := 0.0
	for frame := range m.before.frames {
		i := frame*len(m.bandsHz) + band
		level := max(m.before.bands[i][c], turned*m.after.bands[i][c])
		if level > loudest && dsp.PowerToDB(m.ratio(i, c, turned, gate)) >= changeDB {
			loudest, seconds = level, hopS*float64(frame)
		}
	}
	return seconds
}

// nthLargest is the n-th largest of x, n from 1 up; x comes out in another
// order. Source: C. A. R. Hoare, Algorithm 65: Find, CACM 4 (1961) (from
// memory).
func nthLargest(x []float64, n int) float64 {
	lo, hi := 0, len(x)-1
	for lo < hi {
		pivot, i, j := x[lo+(hi-lo)/2], lo, hi
		for i <= j {
			for x[i] > pivot {
				i++
			}
			for x[j] < pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case n-1 <= j:
			hi = j
		case n-1 >= i:
			lo = i
		default:
			return x[n-1]
		}
	}
	return x[n-1]
}
