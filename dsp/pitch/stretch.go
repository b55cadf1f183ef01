package pitch

import (
	"fmt"
	"math"

	"strop/dsp"
)

// Stretch is src played in ratio times the time, ratio from 0.5 to 2, at the
// same pitch. The result has round(ratio·len(src)) frames. A ratio of 1 gives a
// copy.
//
// It is done as Shift does it, without the change of speed, and what it says of
// strokes, channels and sources holds.
func Stretch(src []dsp.Frame, rateHz, ratio float64) ([]dsp.Frame, error) {
	switch {
	case !(ratio >= 0.5 && ratio <= 2):
		return nil, fmt.Errorf("a stretch by %g is outside 0.5 to 2", ratio)
	case !(rateHz >= dsp.MinRateHz && rateHz <= dsp.MaxRateHz):
		return nil, fmt.Errorf("a sample rate of %g Hz is outside %d to %d Hz", rateHz, dsp.MinRateHz, dsp.MaxRateHz)
	case ratio == 1:
		return append([]dsp.Frame(nil), src...), nil
	}
	dst := make([]dsp.Frame, int(math.Round(ratio*float64(len(src)))))
	e := newEngine(rateHz, 1, 1/ratio)
	in, out, strikes := make([]dsp.Frame, e.hop()), make([]dsp.Frame, e.hop()), make([]dsp.Frame, e.hop())
	for at := e.first*e.hop() - e.voc.n/2; at < len(dst); at += len(out) {
		for !e.ready() {
			clear(in)
			src = src[copy(in, src):]
			e.push(in)
		}
		e.pull(out, strikes)
		if end := at + len(out); end > 0 {
			copy(dst[max(at, 0):], out[max(-at, 0):])
		}
	}
	return dst, nil
}
