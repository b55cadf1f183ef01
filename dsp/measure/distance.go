package measure

import (
	"math"

	"strop/dsp"
)

const directReachS = 0.0025

// DirectRatioDB is the direct-to-reverberant ratio of an impulse response at
// rateHz: the energy within 2.5 ms of its arrival over that of all that
// comes later. +Inf where nothing comes, NaN for silence. It wants the response
// of the room, or of the processor: from material alone it cannot be told.
// Source: J. Eaton, N. D. Gaubitch, A. H. Moore, P. A. Naylor, Estimation of
// room acoustic parameters: the ACE challenge, IEEE/ACM TASLP 24(10) (2016),
// for the definition (from memory).
func DirectRatioDB(h []float64, rateHz float64) float64 {
	checkRate(rateHz)
	arrival, err := onset(h)
	if err != nil {
		return math.NaN()
	}
	reach := int(math.Round(directReachS * rateHz))
	from, to := max(0, arrival-reach), min(len(h), arrival+reach+1)
	return dsp.PowerToDB(sumSquares(h[from:to]) / sumSquares(h[to:]))
}
