package fault

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"strop/dsp"
)

// Hum adds what the mains leak into a line: 50 or 60 Hz and its multiples.
//
//	mainsHz    frequency of the mains            50 or 60 Hz
//	levelDBFS  rms of all partials together      −96 to −12 dBFS; −96 is none at all
//	seed       draws levels and phases           0 to 1048576
//
// Over the first, the second partial lies at −10 ±6 dB, the third at −6 ±6,
// the fourth at −20, the fifth at −14, the sixth at −18, each further one 3 dB
// lower, to the twentieth; the phases are any. The frequency wanders by up to
// 0.1 %. The same in both channels. No latency.
// Source: common practice, no source.
var Hum = dsp.Spec{
	ID:     "hum",
	Name:   "hum",
	Doc:    "Adds the hum of the mains, 50 or 60 Hz and its multiples.",
	Source: "common practice, no source",
	Params: []dsp.Param{mainsHz, fullDB, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		random := humRandom(s)
		return newMains(rateHz, s, humPartials(random), random), nil
	},
}

const humOrders = 20

func humRandom(s dsp.Setting) *rand.Rand { return rand.New(rand.NewPCG(seedOf(s), 1)) }

// humPartials are the partials, the first of size 1.
func humPartials(random *rand.Rand) []complex128 {
	partials := make([]complex128, humOrders+1)
	for k := range partials {
		db := -18 - 3*float64(k-6)
		switch k {
		case 0:
			db = math.Inf(-1)
		case 1:
			db = 0
		case 2:
			db = -10 + 12*(random.Float64()-0.5)
		case 3:
			db = -6 + 12*(random.Float64()-0.5)
		case 4:
			db = -20
		case 5:
			db = -14
		}
		partials[k] = cmplx.Rect(dsp.FromDB(db), 2*math.Pi*random.Float64())
	}
	return partials
}

// HumPartialsDBFS is the level of each partial that a setting of Hum gives,
// the first at index 0.
func HumPartialsDBFS(s dsp.Setting) []float64 {
	partials, power := humPartials(humRandom(s))[1:], 0.0
	for _, p := range partials {
		power += square(cmplx.Abs(p))
	}
	levels := make([]float64, len(partials))
	for i, p := range partials {
		levels[i] = s.Get(fullDB) + dsp.ToDB(cmplx.Abs(p)) - dsp.PowerToDB(power)
	}
	return levels
}
