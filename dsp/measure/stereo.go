package measure

import (
	"math"

	"strop/dsp"
)

// A Channel is one of the four signals that are looked at in a stereo sound:
// what comes from either loudspeaker, what both have in common, and what they
// have not.
type Channel int

const (
	Left  Channel = iota
	Right         // the right channel
	Mid           // (L + R)/2, which mono keeps
	Side          // (L − R)/2, which mono loses
)

var channelNames = [...]string{"left", "right", "mid", "side"}

func (c Channel) String() string { return channelNames[c] }

// Of is the sample of the channel in f.
func (c Channel) Of(f dsp.Frame) float64 {
	switch c {
	case Left:
		return f[0]
	case Right:
		return f[1]
	case Mid:
		return f[0]/2 + f[1]/2
	}
	return f[0]/2 - f[1]/2
}

// Samples is the channel of a clip.
func (c Channel) Samples(buf []dsp.Frame) []float64 {
	x := make([]float64, len(buf))
	for i, f := range buf {
		x[i] = c.Of(f)
	}
	return x
}

// MidSideDB is the power of the middle over that of the sides:
//
//	10·log10(ΣM² / ΣS²),  M = (L+R)/2,  S = (L−R)/2
//
// +Inf for mono, 0 for two channels that have nothing in common or where only
// one sounds, −Inf where one is the other turned over. NaN for silence.
func MidSideDB(buf []dsp.Frame) float64 {
	mid, side := 0.0, 0.0
	for _, f := range buf {
		m, s := Mid.Of(f), Side.Of(f)
		mid += m * m
		side += s * s
	}
	return dsp.PowerToDB(mid / side)
}

// MonoFold is what a clip loses when its channels are added up and the sum is
// played from both loudspeakers, as on one that is mono. A loss is positive, 0
// where both channels are the same, 3.01 where they have nothing in common or
// only one sounds, +Inf where they cancel, NaN where there is nothing to lose.
type MonoFold struct {
	LossLU  float64                   // of integrated loudness, ITU-R BS.1770-5
	BandsDB [dsp.ThirdOctaves]float64 // of power in each third-octave band
}

// MonoFoldOf folds frames at rateHz to (L + R)/2 on both channels, and
// measures them before and after. It panics at a rate outside dsp.MinRateHz to
// dsp.MaxRateHz.
func MonoFoldOf(buf []dsp.Frame, rateHz float64) (fold MonoFold) {
	mono := make([]dsp.Frame, len(buf))
	for i, f := range buf {
		m := Mid.Of(f)
		mono[i] = dsp.Frame{m, m}
	}
	fold.LossLU = lossDB(IntegratedLUFS(buf, rateHz), IntegratedLUFS(mono, rateHz))
	before, after := ThirdOctavesDB(buf, rateHz), ThirdOctavesDB(mono, rateHz)
	for i := range before {
		fold.BandsDB[i] = lossDB(before[i], after[i])
	}
	return fold
}

// lossDB is before − after, NaN where there was nothing before.
func lossDB(beforeDB, afterDB float64) float64 {
	if math.IsInf(beforeDB, -1) {
		return math.NaN()
	}
	return beforeDB - afterDB
}
