package content

import (
	"math"
	"slices"

	"strop/dsp"
)

// mixLU is the loudness of each role in the rough mix, that of the lead vocal
// being 0. Common practice, no source: it is where a mix begins, not where it
// should end.
var mixLU = map[Role]float64{
	Kick: -3, Snare: -4, Hat: -12, Tom: -9, Cymbal: -13, Overhead: -8, Room: -12, Percussion: -10,
	DrumMachine: -3, Drums: -2, Bass: -4, Guitar: -7, Keys: -7, Synth: -8, Strings: -9, Brass: -8, Wind: -7,
	LeadVocal: 0, BackingVocal: -8, Speech: 0, Effect: -13, "": -8,
}

// roughLUFS is the loudness that a rough mix aims at: low enough for any sum
// of stems to stay clear of full scale.
const roughLUFS = -23

// sidePan is where the two sides of a pair stand: wide, yet not alone on one
// ear. Common practice, no source.
const sidePan = 0.8

// balance sets faders so that each role has its loudness in a rough mix:
// several stems of one role share it. A stem that is silent wherever it was
// looked at gets the gain of the others' middle one. Mono stems named as one
// side go there. Clicks, guides and prints of the whole are muted.
func balance(stems []Stem, lufs []float64) []Fader {
	levels := mixLevels(stems, lufs)
	power, gains := 0.0, []float64{}
	for i, level := range levels {
		if !math.IsInf(lufs[i], -1) && !math.IsNaN(level) {
			power += math.Pow(10, level/10)
			gains = append(gains, level-lufs[i])
		}
	}
	if len(gains) == 0 {
		gains, power = []float64{0}, math.Pow(10, roughLUFS/10)
	}
	slices.Sort(gains)
	faders, trim := make([]Fader, len(stems)), roughLUFS-dsp.PowerToDB(power)
	for i, s := range stems {
		gain := levels[i] - lufs[i]
		switch {
		case math.IsNaN(levels[i]):
			gain = -trim
		case math.IsInf(lufs[i], -1):
			gain = gains[len(gains)/2]
		}
		faders[i] = Fader{GainDB: gain + trim, Pan: panOfName(s), Muted: math.IsNaN(levels[i])}
	}
	return faders
}

// mixLevels are the loudnesses that stems should have, re the lead vocal; NaN
// for those that are left out.
func mixLevels(stems []Stem, lufs []float64) []float64 {
	count := map[Role]float64{}
	for i, s := range stems {
		if !math.IsInf(lufs[i], -1) {
			count[s.Role]++
		}
	}
	levels := make([]float64, len(stems))
	for i, s := range stems {
		levels[i] = mixLU[s.Role] - dsp.PowerToDB(max(count[s.Role], 1))
		if s.Role == Click || s.Role == Mix && len(stems) > 1 {
			levels[i] = math.NaN()
		}
	}
	return levels
}

// panOfName is where a mono stem stands that is named as one side.
func panOfName(s Stem) float64 {
	if s.Channels == 2 {
		return 0
	}
	for _, word := range nameWords(s.Name) {
		switch word {
		case "l", "left", "ohl":
			return -sidePan
		case "r", "right", "ohr":
			return sidePan
		}
	}
	return 0
}
