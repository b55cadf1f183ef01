package measure

import (
	"math"

	"strop/dsp"
	"strop/dsp/kaiser"
	"strop/dsp/taps"
)

// A decimator keeps every factor-th frame of what lies low enough: a sinc
// under a Kaiser window, flat within 0.01 dB to 1.2 kHz, centred on the frame
// that is kept.
type decimator struct {
	factor int
	rateHz float64 // of what comes out
	taps   []float64
	out    []dsp.Frame
}

const (
	lowestDecimatedHz = 5500.0
	decimatorTapsS    = 0.0015 // length
)

func newDecimator(rateHz float64) decimator {
	d := decimator{factor: 1, taps: []float64{1}}
	for rateHz/float64(2*d.factor) >= lowestDecimatedHz {
		d.factor *= 2
	}
	d.rateHz = rateHz / float64(d.factor)
	if d.factor > 1 {
		d.taps = lowPass(2*int(decimatorTapsS*rateHz/2)+1, 0.5/float64(d.factor))
	}
	return d
}

// lowPass is a windowed sinc with its corner at cycles a frame.
func lowPass(n int, cycles float64) []float64 {
	const beta = 7
	taps, half, sum := make([]float64, n), float64(n)/2, 0.0
	for i := range taps {
		t := float64(i) - float64(n-1)/2
		taps[i] = kaiser.Window(t/half, beta)
		if t != 0 {
			taps[i] *= math.Sin(2*math.Pi*cycles*t) / (2 * math.Pi * cycles * t)
		}
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

// process is valid until it is called again.
func (d *decimator) process(buf []dsp.Frame) []dsp.Frame {
	if d.factor == 1 {
		return buf
	}
	n := (len(buf) + d.factor - 1) / d.factor
	if cap(d.out) < n {
		d.out = make([]dsp.Frame, n)
	}
	d.out = d.out[:n]
	for i := range d.out {
		d.out[i] = d.at(buf, i*d.factor-len(d.taps)/2)
	}
	return d.out
}

// at is the sum of the taps over buf from start on.
func (d *decimator) at(buf []dsp.Frame, start int) dsp.Frame {
	from, to := max(0, -start), min(len(d.taps), len(buf)-start)
	return taps.Sum(d.taps[from:to], buf[start+from:start+to])
}
