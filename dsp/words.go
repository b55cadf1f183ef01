package dsp

import (
	"math"
	"strconv"
)

// OctavesInWords is the size of a distance in octaves as an engineer says it:
// "a third of an octave", "one and a half octaves". The sign is not told.
func OctavesInWords(oct float64) string {
	oct = math.Abs(oct)
	words := []struct {
		oct  float64
		word string
	}{
		{0, "less than a twelfth of an octave"},
		{1.0 / 12, "a twelfth of an octave"},
		{1.0 / 6, "a sixth of an octave"},
		{1.0 / 4, "a quarter of an octave"},
		{1.0 / 3, "a third of an octave"},
		{1.0 / 2, "half an octave"},
		{2.0 / 3, "two thirds of an octave"},
		{1, "an octave"},
		{4.0 / 3, "an octave and a third"},
		{3.0 / 2, "an octave and a half"},
		{5.0 / 3, "an octave and two thirds"},
	}
	if oct > 11.0/6 {
		thirds := math.Round(oct * 3)
		return strconv.FormatFloat(math.Round(thirds/3*10)/10, 'f', -1, 64) + " octaves"
	}
	best := words[0]
	for _, w := range words {
		if math.Abs(w.oct-oct) < math.Abs(best.oct-oct) {
			best = w
		}
	}
	return best.word
}
