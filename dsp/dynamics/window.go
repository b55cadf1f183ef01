package dynamics

import (
	"math"

	"strop/dsp"
)

// heldMS is how long a peak counts where a level has to be had of sound that
// is about to stop: a cycle of 100 Hz, half a cycle of 50 Hz.
const heldMS = 10

// window is the greatest peak of the last heldMS, of both channels. Time is
// cut into stretches of that length; line holds the peaks of the running
// stretch, and behind them, for what is left of the stretch before, the
// greatest from there to its end.
//
// Source: M. van Herk, A fast algorithm for local minimum and maximum filters
// on rectangular and octagonal kernels, Pattern Recognition Letters 13 (1992)
// (from memory).
type window struct {
	line []float64 // one longer than the stretch; its last is 0
	at   int
	most float64 // of the running stretch
}

func newWindow(rateHz float64) window {
	return window{line: make([]float64, int(math.Ceil(heldMS*rateHz/1000))+1)}
}

func (w *window) reset() {
	clear(w.line)
	w.at, w.most = 0, 0
}

// levels are those of the greatest peaks.
func (w *window) levels(levels []float64, buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), len(w.line)-1-w.at)
		w.stretch(levels[:n], buf[:n])
		levels, buf = levels[n:], buf[n:]
		if w.at == len(w.line)-1 {
			w.turn()
		}
	}
}

func (w *window) stretch(levels []float64, buf []dsp.Frame) {
	line, most := w.line[w.at:][:len(buf)+1], w.most
	for i := range buf {
		peak := bounded(size(buf[i][0], buf[i][1]))
		most = greater(peak, most)
		levels[i] = log2(greater(most, line[i+1]))
		line[i] = peak
	}
	w.at, w.most = w.at+len(buf), most
}

// turn ends a stretch.
func (w *window) turn() {
	most := 0.0
	for i := len(w.line) - 2; i >= 0; i-- {
		most = greater(w.line[i], most)
		w.line[i] = most
	}
	w.at, w.most = 0, 0
}
