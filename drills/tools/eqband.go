package tools

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
)

// The parameters of an EQ band setting.
var (
	bandHz   = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 20, Max: 20000, Neutral: 1000, Scale: dsp.Log}
	bandGain = dsp.Param{ID: "gainDB", Name: "gain", Unit: "dB", Min: -24, Max: 24, Neutral: 0}
	bandQ    = dsp.Param{ID: "q", Name: "Q", Min: 0.1, Max: 30, Neutral: math.Sqrt2, Scale: dsp.Log}
)

// Filters as wide as the bands that are told apart: Q √2 is one octave
// between the half-gain points, Q 4.3185 a third of one. Source: R.
// Bristow-Johnson, Audio EQ Cookbook, 1/Q = 2·sinh(ln2/2·BW).
const (
	octaveQ = math.Sqrt2
	thirdQ  = 4.3185
)

// A dip is harder to hear than a peak of the same size, so cuts are asked one
// and a half times as deep. Source: the direction is R. Bücklein, The
// Audibility of Frequency Response Irregularities, JAES 29 (1981), as quoted
// by Toole & Olive (1988); the factor is common practice, no source.
const cutFactor = 1.5

// freeTolerance is how near, in octaves, an answer on the continuous scale
// counts as right: a third of an octave either way. Common practice, no source.
const freeTolerance = 1.0 / 3

const (
	errorOct  = "errorOct"
	errorCams = "errorCams"
)

// eqBand asks which part of the spectrum was raised or cut by a peak filter.
//
// The ladder is the boost in dB. 1.5 dB is the smallest amplitude heard in
// popular music at Q 1: F. E. Toole & S. E. Olive, The Modification of Timbre
// by Resonances, JAES 36 (1988), p. 134, as quoted.
func eqBand() drills.Tool {
	return drills.Tool{
		ID:         "eq-band",
		Title:      "EQ band",
		Doc:        "Hear which part of the spectrum was raised or cut.",
		Type:       "EQ",
		Source:     "smallest amplitude heard in popular music at Q 1: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted",
		Confusable: []string{"make-eq"},
		Error:      errorOct,
		Unit:       "oct",
		Level:      dsp.Param{ID: "boostDB", Name: "boost", Unit: "dB", Min: 1.5, Max: 12, Neutral: 9, Scale: dsp.Log},
		Rungs: []drills.Rung{
			bandRung("five", "five bands", 7, 12, 17, 22, 27),
			bandRung("seven", "seven octave bands", 8, 11, 14, 17, 20, 23, 26),
			bandRung("ten", "ten octave bands", 2, 5, 8, 11, 14, 17, 20, 23, 26, 29),
			bandRung("thirds", "third-octave bands", seq(4, 29)...),
			{ID: "free", Title: "any frequency"},
		},
		Params:       []dsp.Param{bandHz, bandGain, bandQ},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask:          askBand,
		Change:       changeBand,
		Question:     bandQuestion,
		Read:         readBand,
		Grade:        gradeBand,
		Tell:         tellBand,
		Region:       bandRegion,
	}
}

// bandRung offers third-octave bands by their index, each named as on
// equipment and asked at its exact mid-band frequency.
func bandRung(id, title string, bands ...int) drills.Rung {
	r := drills.Rung{ID: id, Title: title}
	for _, i := range bands {
		r.Choices = append(r.Choices, drills.Choice{
			Label: nominal(i),
			Guess: dsp.Setting{bandHz.ID: dsp.ThirdOctaveHz(i)},
		})
	}
	return r
}

func seq(first, last int) (s []int) {
	for i := first; i <= last; i++ {
		s = append(s, i)
	}
	return s
}

func nominal(band int) string {
	hz, unit := dsp.NominalHz(band), " Hz"
	if hz >= 1000 {
		hz, unit = hz/1000, " kHz"
	}
	return strconv.FormatFloat(hz, 'g', 4, 64) + unit
}

// askBand draws a band of the rung, or on the continuous scale any frequency
// from 50 Hz to 16 kHz, and as often a cut as a boost.
func askBand(d drills.Draw) (dsp.Setting, error) {
	s := dsp.Setting{bandQ.ID: octaveQ, bandGain.ID: either(d, d.Level, -cutFactor*d.Level)}
	if d.Rung.ID == "thirds" {
		s[bandQ.ID] = thirdQ
	}
	if n := len(d.Rung.Choices); n > 0 {
		s[bandHz.ID] = d.Rung.Choices[d.R.IntN(n)].Guess.Get(bandHz)
	} else {
		s[bandHz.ID] = between(d, bandHz, dsp.ThirdOctaveHz(4), dsp.ThirdOctaveHz(29))
	}
	return s, carries(d, s.Get(bandHz), eq.OctFromQ(s.Get(bandQ)))
}

// carries reports where what a change is made on has too little in a band for
// it to be heard.
func carries(d drills.Draw, freqHz, widthOct float64) error {
	if !d.Clip.On(d.On).Carries(freqHz, widthOct) {
		return fmt.Errorf("%s has too little at %s", d.Where(), dsp.FormatHz(freqHz))
	}
	return nil
}

func changeBand(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	p, err := eq.Peak.New(c.Loop.RateHz, s)
	return drills.OnStem(on, p), err
}

func bandQuestion(d drills.Draw, asked dsp.Setting) string {
	verb := "raised"
	if asked.Get(bandGain) < 0 {
		verb = "cut"
	}
	if len(d.Rung.Choices) == 0 {
		return "Around which frequency was " + it(d) + " " + verb + "?"
	}
	return "Which band" + of(d) + " was " + verb + "?"
}

// readBand takes the number of a choice, or a frequency: the nearest choice
// where there are choices, itself where there are none.
func readBand(rung drills.Rung, asked dsp.Setting, text string) (dsp.Setting, error) {
	if n, err := strconv.Atoi(strings.TrimSpace(text)); err == nil && n >= 1 && n <= len(rung.Choices) {
		return asked.With(bandHz.ID, rung.Choices[n-1].Guess.Get(bandHz)), nil
	}
	hz, err := dsp.ParseHz(text)
	if err != nil {
		return nil, err
	}
	if bandHz.Check(hz) != nil {
		return nil, fmt.Errorf("%s is outside 20 Hz to 20 kHz", dsp.FormatHz(hz))
	}
	return asked.With(bandHz.ID, nearestBand(rung, hz)), nil
}

func nearestBand(rung drills.Rung, hz float64) float64 {
	if len(rung.Choices) == 0 {
		return hz
	}
	best := math.Inf(1)
	for _, c := range rung.Choices {
		if band := c.Guess.Get(bandHz); math.Abs(dsp.Octaves(band, hz)) < math.Abs(dsp.Octaves(best, hz)) {
			best = band
		}
	}
	return best
}

// gradeBand measures the distance in octaves, and in equivalent rectangular
// bandwidths of the ear, which treat a miss in the bass more fairly.
func gradeBand(rung drills.Rung, truth, guess dsp.Setting) drills.Score {
	if len(truth) == 0 || len(guess) == 0 {
		return drills.Score{Right: len(truth) == len(guess)}
	}
	t, g := truth.Get(bandHz), guess.Get(bandHz)
	tolerance := 1e-6
	if len(rung.Choices) == 0 {
		tolerance = freeTolerance
	}
	oct := dsp.Octaves(t, g)
	return drills.Score{
		Right:  math.Abs(oct) <= tolerance,
		Errors: map[string]float64{errorOct: oct, errorCams: dsp.Cams(g) - dsp.Cams(t)},
	}
}

func tellBand(_ drills.Rung, truth, guess dsp.Setting) string {
	switch {
	case len(truth) == 0 && len(guess) == 0:
		return "Nothing was changed, as you said."
	case len(truth) == 0:
		return "Nothing was changed; you said " + bandName(guess) + "."
	case len(guess) == 0:
		return "It was " + bandSize(truth) + "; you said nothing was changed."
	}
	oct := dsp.Octaves(truth.Get(bandHz), guess.Get(bandHz))
	if math.Abs(oct) < 1e-6 {
		return "It was " + bandSize(truth) + ", as you said."
	}
	side := "high"
	if oct < 0 {
		side = "low"
	}
	return fmt.Sprintf("It was %s; you said %s, %s %s.", bandSize(truth), bandName(guess), dsp.OctavesInWords(oct), side)
}

func bandSize(s dsp.Setting) string {
	return dsp.FormatDB(s.Get(bandGain)) + " at " + bandName(s)
}

// bandName is the band's printed name where the frequency is a mid-band
// frequency, else the frequency to three figures.
func bandName(s dsp.Setting) string {
	hz := s.Get(bandHz)
	if i := dsp.NearestThirdOctave(hz); math.Abs(hz/dsp.ThirdOctaveHz(i)-1) < 1e-9 {
		return nominal(i)
	}
	return dsp.FormatHz(hz)
}

// bandRegion is the octave that a truth lies in, by its printed name.
func bandRegion(truth dsp.Setting) string {
	if len(truth) == 0 {
		return ""
	}
	octave := int(math.Round(math.Log2(truth.Get(bandHz) / dsp.ThirdOctaveHz(17)))) // octaves from 1 kHz
	return nominal(min(max(17+3*octave, 2), 29))
}
