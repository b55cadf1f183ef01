package space

import "strop/dsp"

// Hall is the sound of a hall: reflections that come one by one, then noise
// that decays, each octave at its own rate.
//
//	decayS       decay by 60 dB around 1 kHz                 0.2 to 3 s
//	bassRatio    decay at 125 Hz over that at 1 kHz          0.5 to 2
//	trebleRatio  decay at 8 kHz over that at 1 kHz           0.25 to 1
//	predelayMS   from the direct sound to the reverb         0 to 200 ms
//	widthPct     difference of the outputs; 0 is mono        0 to 100 %
//	drrDB        energy of the direct sound over that of     −24 to 96 dB; 96 is dry:
//	             the reverb, both outputs together           nothing is added, to the bit
//	seed         another hall of the same kind               0 to 99
//
// Each input is heard in both outputs. The reverb is full after 50 ms; Decays
// says what each octave is set to. The direct sound passes unchanged. Latency:
// 4096 frames, dry or not.
//
// Source: J. A. Moorer, About this reverberation business, Computer Music
// Journal 3(2) (1979), for the decaying noise (from memory). Times of rise and
// number of reflections: common practice, no source.
var Hall = reverbSpec(dsp.Spec{
	ID:     "hall",
	Name:   "hall",
	Doc:    "Adds the reverb of a hall.",
	Source: "J. A. Moorer, About this reverberation business, Computer Music Journal 3(2), 1979",
	Params: []dsp.Param{decayParam, bassParam, trebleParam},
}, func(rateHz float64, s dsp.Setting) (*Response, error) {
	return noisy(rateHz, s, decayParam, 0.012, 0.038, 14, 0x4a11), nil
})

// noisy is a reverb of taps and of noise that begins after startS and rises in
// riseS.
func noisy(rateHz float64, s dsp.Setting, decayS dsp.Param, startS, riseS float64, taps int, kind uint64) *Response {
	t := tail{rateHz: rateHz, decaysS: decaysOf(s, decayS), startS: evenly(startS), riseS: riseS, levels: evenly(1)}
	return fourPaths(kind<<8+uint64(s.Get(seedParam)), func(_, _ int, seed uint64) []float64 {
		return t.path(seed, t.taps(seed, taps))
	})
}
