package fault

import (
	"math/rand/v2"

	"strop/dsp"
)

// occasions are moments at random: a Poisson process with a dead time, so that
// two never meet.
//
//	gap = leastFrames + an exponential, perS a second in the mean
type occasions struct {
	least, beyond float64 // frames; beyond is the mean of the exponential
	never         bool
	seed          [2]uint64
	source        *rand.PCG
	random        *rand.Rand // also draws what is to happen
	left          int        // frames until the next
}

// newOccasions are perS moments a second, none where it is 0. Gaps of
// leastFrames must leave room for them. word tells faults of one seed apart.
func newOccasions(rateHz, perS, leastFrames float64, s dsp.Setting, word uint64) occasions {
	o := occasions{least: leastFrames, never: perS == 0, seed: [2]uint64{seedOf(s), word}, source: new(rand.PCG)}
	if !o.never {
		o.beyond = rateHz/perS - leastFrames
	}
	o.random = rand.New(o.source)
	o.reset()
	return o
}

// reset begins anew; the first moment comes after an exponential alone.
func (o *occasions) reset() {
	o.source.Seed(o.seed[0], o.seed[1])
	o.left = int(o.beyond * o.random.ExpFloat64())
}

// draw sets the time to the next moment, from the last.
func (o *occasions) draw() { o.left = int(o.least + o.beyond*o.random.ExpFloat64()) }
