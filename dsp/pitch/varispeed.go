package pitch

import (
	"fmt"
	"math"

	"strop/dsp"
)

// Varispeed is src played ratio times as fast, ratio from 0.25 to 4: pitch and
// tempo rise together, as with a tape. The result has round(len(src)/ratio)
// frames. A ratio of 1 gives a copy; RatioOf gives the ratio of an interval.
//
// Band-limited: a tone stays a tone, with all else 100 dB below it, and what
// would come above half the rate vanishes. It is flat to 0.44 of the lower of
// the two rates. For a sound whose length must stay there is Shift.
//
// Source: J. O. Smith, Digital audio resampling, CCRMA (2002) (from memory).
func Varispeed(src []dsp.Frame, ratio float64) ([]dsp.Frame, error) {
	switch {
	case !(ratio >= 0.25 && ratio <= 4):
		return nil, fmt.Errorf("a speed of %g is outside 0.25 to 4", ratio)
	case ratio == 1:
		return append([]dsp.Frame(nil), src...), nil
	}
	k := newKernel(fine, ratio)
	padded := make([]dsp.Frame, k.half+len(src)+k.half+int(math.Ceil(ratio)))
	copy(padded[k.half:], src)
	dst := make([]dsp.Frame, int(math.Round(float64(len(src))/ratio)))
	for i := range dst {
		dst[i] = k.read(padded, float64(k.half)+float64(i)*ratio)
	}
	return dst, nil
}
