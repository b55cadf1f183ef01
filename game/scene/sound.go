package scene

import "strop/dsp"

// Sound is where loops are heard. Without a sound card it keeps time and is
// silent.
type Sound interface {
	// Play starts sides of equal length from the top, on one of them.
	Play(rateHz float64, sides [][]dsp.Frame, side int) error
	// Replace plays sides in place of those that play, at the same place.
	Replace(rateHz float64, sides [][]dsp.Frame, side int) error
	// Switch goes over to another side at the same place.
	Switch(side int)
	// Move does what a transport button says.
	Move(m Motion)
	// Heard is what comes out now.
	Heard() Heard
}

// Motion is what is asked of what plays.
type Motion uint8

const (
	Restart Motion = iota // from the top
	Pause                 // hold the place
	Resume                // go on from there
	Silence               // end, and forget the sides
)

// Heard is what comes out now.
type Heard struct {
	Part    float64 // of the loop, 0 to 1
	Problem error   // why nothing does; nil where there is a sound card
}

// Noise is what the listening level is set by.
type Noise interface {
	MakeNoise() error                 // takes a moment
	PlayNoise() error                 // what was made
	SetLevelDB(levelDB float64) error // of everything, 0 or below
}
