package player

import (
	"fmt"
	"math"

	"strop/dsp"
	"strop/dsp/measure"
)

// Caution is shown wherever the listening level is set.
const Caution = "Loud sound harms hearing, for good, and nobody but you can tell how loud it is where you sit. " +
	"Turn your amplifier all the way down, start the noise, and come up slowly to a level that you could work at all day. " +
	"Set it once, leave it: everything that follows is played as loud as this noise. " +
	"If your ears ring, hurt or feel dull, stop. This program is no hearing test."

const (
	levelS = 10.0 // length of the noise
	blendS = 0.5  // over which its end runs into its start
)

// LevelNoise is pink noise to set the listening level by: a loop of 10 s
// without a seam, at a loudness in LUFS, the channels independent of each
// other. The level that it is played at by the listener's amplifier is the
// level of everything that is played at the same loudness afterwards.
func LevelNoise(rateHz, loudnessLUFS float64, seed uint64) (*Program, error) {
	if !(rateHz >= dsp.MinRateHz && rateHz <= dsp.MaxRateHz) {
		return nil, fmt.Errorf("a sample rate of %g Hz is outside %d to %d Hz", rateHz, dsp.MinRateHz, dsp.MaxRateHz)
	}
	if !(loudnessLUFS >= -70 && loudnessLUFS <= -20) {
		return nil, fmt.Errorf("a loudness of %g LUFS is outside -70 to -20; pink noise needs room for its peaks", loudnessLUFS)
	}
	loop := seamless(dsp.NewPink(rateHz, seed), frames(levelS, rateHz), frames(blendS, rateHz))
	dsp.Gain(dsp.FromDB(loudnessLUFS - measure.IntegratedLUFS(loop, rateHz))).Process(loop)
	return &Program{RateHz: rateHz, Sides: [][]dsp.Frame{loop}, Seamless: true}, nil
}

// seamless is n frames of noise whose end runs into the start: what would have
// followed fades out over the start as that fades in, over blend frames, at
// equal power, as becomes two noises that know nothing of each other.
func seamless(pink *dsp.Pink, n, blend int) []dsp.Frame {
	noise := make([]dsp.Frame, n+blend)
	pink.Fill(noise)
	loop, next := noise[:n:n], noise[n:]
	for i, f := range next {
		out, in := math.Cos(math.Pi/2*float64(i)/float64(blend)), math.Sin(math.Pi/2*float64(i)/float64(blend))
		loop[i][0] = loop[i][0]*in + f[0]*out
		loop[i][1] = loop[i][1]*in + f[1]*out
	}
	return loop
}
