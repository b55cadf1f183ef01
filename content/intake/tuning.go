package intake

import (
	"math"
	"slices"

	"strop/content"
	"strop/dsp"
	"strop/dsp/measure"
)

// Tuning is how the pitches of a stem lie to equal temperament at A = 440 Hz
// (ISO 16).
//
//	MeanCents    their mean distance from the nearest note, −50 to 50
//	SpreadCents  standard deviation of that
//	A4Hz         the pitch of A that would make the mean 0
//	HeardS       how much of the stem had a pitch
//
// Both are those of a circle on which 100 cents are one turn, because 50 cents
// above one note is 50 cents below the next: mean direction, and √(−2·ln R) of
// its length R.
// Source: K. V. Mardia, P. E. Jupp, Directional Statistics (2000) (from memory).
type Tuning struct {
	MeanCents   float64 `json:"meanCents"`
	SpreadCents float64 `json:"spreadCents"`
	A4Hz        float64 `json:"a4Hz"`
	HeardS      float64 `json:"heardS"`
}

// What a tuning is told from. Our own choices.
const (
	pitchHopS  = 0.01 // of a measure.PitchTrack
	clearRest  = 0.15 // the most that may not repeat: a chord leaves more
	leastPitch = 2.0  // seconds
	leastR     = 0.2  // under it the pitches lie anywhere
)

// pitched reports whether stems of a role are tuned.
func pitched(r content.Role) bool {
	return slices.Contains([]content.Role{
		content.Bass, content.Guitar, content.Keys, content.Synth, content.Strings, content.Brass, content.Wind,
		content.LeadVocal, content.BackingVocal,
	}, r)
}

// circle sums up distances from notes as directions.
type circle struct {
	x, y float64
	n    int
}

// listen adds the pitches of some frames.
func (c *circle) listen(frames []dsp.Frame, rateHz float64) {
	track, err := measure.PYIN(measure.Mono(frames), rateHz, measure.AnyPitch)
	if err != nil {
		return // a rate too low for the range has no tuning
	}
	for _, p := range track {
		if p.FreqHz > 0 && p.Rest < clearRest {
			_, cents := measure.NearestNote(p.FreqHz)
			sin, cos := math.Sincos(2 * math.Pi * cents / 100)
			c.x, c.y, c.n = c.x+cos, c.y+sin, c.n+1
		}
	}
}

// tuning is the result, nil where too little has a pitch.
func (c circle) tuning() *Tuning {
	heardS := float64(c.n) * pitchHopS
	r := math.Hypot(c.x, c.y) / float64(max(c.n, 1))
	if heardS < leastPitch || r < leastR {
		return nil
	}
	cents := math.Atan2(c.y, c.x) / (2 * math.Pi) * 100
	return &Tuning{
		MeanCents: cents, SpreadCents: math.Sqrt(max(0, -2*math.Log(min(r, 1)))) / (2 * math.Pi) * 100,
		A4Hz: 440 * math.Exp2(cents/1200), HeardS: heardS,
	}
}
