package dynamics

import "strop/dsp"

// below is an expander, or with raises an upward compressor: what acts on
// sound under a threshold. Its level is the greatest peak of the last heldMS.
type below struct {
	meter
	falling
	held   window
	curve  knee
	most   float64
	raises bool
	x      [block]float64
}

var (
	_ dsp.Processor = (*below)(nil)
	_ Reducer       = (*below)(nil)
)

func newBelow(rateHz, thresholdDB, kneeDB, slope, mostDB, attackMS, releaseMS float64) (*below, error) {
	if attackMS > releaseMS {
		return nil, notFaster(attackMS, releaseMS)
	}
	return &below{
		falling: newFalling(rateHz, attackMS, releaseMS),
		held:    newWindow(rateHz),
		curve:   kneeBelow(thresholdDB, kneeDB, slope),
		most:    mostDB / doublingDB,
	}, nil
}

// Reset forgets what it heard.
func (b *below) Reset() {
	b.meter.reset()
	b.falling.reset()
	b.held.reset()
}

// Process works on buf in place.
func (b *below) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), block)
		x := b.x[:n]
		b.held.levels(x, buf[:n])
		b.curve.below(x, b.most)
		b.smooth(x)
		if b.raises {
			negate(x)
		}
		b.read(x)
		gains(x, 0, 1)
		both(buf[:n], x)
		buf = buf[n:]
	}
}

func negate(x []float64) {
	for i := range x {
		x[i] = -x[i]
	}
}
