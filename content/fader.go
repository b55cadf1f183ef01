package content

import (
	"math"

	"strop/dsp"
)

// Fader is where a stem stands in the rough mix.
//
//	GainDB    gain                                     0: as delivered
//	Pan       −1 left, 1 right; constant power, balance of a stereo stem
//	Muted     left out
//	Inverted  polarity turned over
type Fader struct {
	GainDB   float64 `json:"gainDB"`
	Pan      float64 `json:"pan"`
	Muted    bool    `json:"muted,omitempty"`
	Inverted bool    `json:"inverted,omitempty"`
}

// Ratios are the gains of both channels: GainDB on both in the middle, 3 dB
// more on one side alone.
func (f Fader) Ratios() (left, right float64) {
	if f.Muted {
		return 0, 0
	}
	ratio := math.Sqrt2 * dsp.FromDB(f.GainDB)
	if f.Inverted {
		ratio = -ratio
	}
	sin, cos := math.Sincos((min(max(f.Pan, -1), 1) + 1) * math.Pi / 4)
	return ratio * cos, ratio * sin
}
