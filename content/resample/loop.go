package resample

import (
	"math"

	"strop/dsp"
)

// finePhases is how many phases per frame of the lower rate are computed where
// the exact ones are too many. Between two of them lies a straight line: the
// error of that is (π/finePhases)²/8 of the signal, -130 dB.
const finePhases = 2048

// Loop gives src at the rate toHz as a loop: before its first frame and after
// its last one comes src again, so that the result repeats as smoothly as src
// does. Its length is rounded to whole frames, at least one, and the sound is
// stretched by that rounding, at most half a frame in all: 2.6 parts in a
// million for four seconds at 48 kHz. Where the rates are equal the result is
// src itself, not a copy.
func Loop(src []dsp.Frame, fromHz, toHz float64) ([]dsp.Frame, error) {
	r, err := New(fromHz, toHz)
	if err != nil {
		return nil, err
	}
	if r.table == nil || len(src) == 0 {
		return src, nil
	}
	n := max(1, int(math.Round(float64(len(src))*float64(r.up)/float64(r.down))))
	table, phases := r.table, r.up
	if n*r.down != len(src)*r.up {
		table, phases = r.kernel.fineTable(r.taps)
	}
	dst, around := make([]dsp.Frame, n), wrap(src, r.taps)
	for k := range dst {
		at, rest := k*len(src)/n, k*len(src)%n
		row, between := rest*phases/n, float64(rest*phases%n)/float64(n)
		x := around[at : at+r.taps]
		dst[k] = dot(table[row*r.taps:][:r.taps], x)
		if between > 0 {
			next := dot(table[(row+1)*r.taps:][:r.taps], x)
			dst[k][0] += between * (next[0] - dst[k][0])
			dst[k][1] += between * (next[1] - dst[k][1])
		}
	}
	return dst, nil
}

// fineTable is the phases of k, and one more, which is the first a frame on.
func (k kernel) fineTable(taps int) (table []float64, phases int) {
	phases = max(1, int(finePhases*halfLobes/k.halfFrames))
	table = make([]float64, (phases+1)*taps)
	for p := range phases + 1 {
		k.phase(table[p*taps:][:taps], float64(p)/float64(phases))
	}
	return table, phases
}

// wrap is src with taps/2-1 frames of the loop before it and taps/2 after it.
func wrap(src []dsp.Frame, taps int) []dsp.Frame {
	around := make([]dsp.Frame, len(src)+taps-1)
	first := len(src) - (taps/2-1)%len(src)
	for i := range around {
		around[i] = src[(first+i)%len(src)]
	}
	return around
}
