package resample

import (
	"math"

	"strop/dsp"
	"strop/dsp/kaiser"
)

// A kernel is the continuous impulse response, in units of input frames.
type kernel struct {
	halfFrames float64 // it is 0 beyond this distance
	cutoff     float64 // cycles per input frame, times 2
}

// newKernel is the kernel for one pair of rates: the cut-off frequency follows
// the lower of the two, and the length of the response with it.
func newKernel(fromHz, toHz float64) kernel {
	lower := min(1, toHz/fromHz) // of the input rate
	return kernel{halfFrames: halfLobes / lower, cutoff: cutoff * lower}
}

// at is the response at a distance of x input frames: sinc times window.
func (k kernel) at(x float64) float64 {
	return k.cutoff * sinc(k.cutoff*x) * kaiser.Window(x/k.halfFrames, beta)
}

// phase fills h with the coefficients for an output frame that lies offset (0
// to 1) input frames behind tap len(h)/2-1. Their sum is made 1, so that no
// phase is louder than another.
func (k kernel) phase(h []float64, offset float64) {
	sum := 0.0
	for j := range h {
		h[j] = k.at(offset - float64(j-len(h)/2+1))
		sum += h[j]
	}
	for j := range h {
		h[j] /= sum
	}
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// dot is the sum of h[j]·x[j], both channels at once. The two have one length,
// which is even.
func dot(h []float64, x []dsp.Frame) dsp.Frame {
	var l0, r0, l1, r1 float64
	x = x[:len(h)]
	for j := 0; j+1 < len(h); j += 2 {
		c0, c1 := h[j], h[j+1]
		l0 += c0 * x[j][0]
		r0 += c0 * x[j][1]
		l1 += c1 * x[j+1][0]
		r1 += c1 * x[j+1][1]
	}
	return dsp.Frame{l0 + l1, r0 + r1}
}
