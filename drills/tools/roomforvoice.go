package tools

import (
	"errors"
	"math/cmplx"
	"slices"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
	"strop/dsp/measure"
)

// voiceStem is the number of the stem that is to be heard.
var voiceStem = dsp.Param{ID: "voice", Name: "voice", Min: 1, Max: 512, Neutral: 1, Scale: dsp.Whole}

// The bands that may be in the voice's way, and how wide they are.
var roomBands = []float64{dsp.ThirdOctaveHz(11), dsp.ThirdOctaveHz(15), dsp.ThirdOctaveHz(19), dsp.ThirdOctaveHz(23)}

const roomQ = 1.2

var roomAnswer = cards{params: []dsp.Param{bandHz}, say: func(s dsp.Setting) string { return "a cut at " + nearNominal(s.Get(bandHz)) }}

// roomForVoice has a stem cover a voice, and asks which cut on that stem gives
// the voice its room back. The truth is the cut after which the voice is
// covered least, by MaskedDB of the two stems.
//
// The ladder is how far the stem was raised where it covers the voice.
func roomForVoice() drills.Tool {
	return drills.Tool{
		ID: "eq-room", Title: "Room for the voice", Type: "EQ",
		Doc:        "Hear which cut on another stem gives the voice its room back.",
		Source:     bandSource,
		Confusable: []string{"eq-band"},
		Error:      wrong, Unit: "of 1", Level: bandLadder,
		Rungs:  []drills.Rung{{ID: "four", Title: "one of four cuts", Surface: drills.Cards, Choices: steps(bandHz, nearNominal, roomBands...)}},
		Params: []dsp.Param{bandHz, bandGain, voiceStem},
		Fit:    drills.Fit{Stems: true, Among: true, Roles: []drills.Role{drills.Guitar, drills.Keys, drills.Synth, drills.Strings, drills.Brass, drills.Wind, drills.Bass, drills.Overhead, drills.BackingVocal, drills.Percussion, drills.Cymbal}},
		Ask:    askRoom,
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			return roomPeaks(c, on, s, s.Get(bandGain))
		},
		Mend: mendRoom,
		Question: func(d drills.Draw, asked dsp.Setting) string {
			return "Which cut on " + d.Where() + " gives " + d.Clip.Where(int(asked.Get(voiceStem))) + " its room back?"
		},
		Read: roomAnswer.Read, Grade: roomAnswer.Grade, Tell: roomAnswer.Tell,
		Region: bandRegion,
	}
}

// errNoVoice is why a loop cannot show it.
var errNoVoice = errors.New("no voice plays in this loop")

// askRoom draws a band in which the stem is raised, such that a cut just there
// helps the voice most.
func askRoom(d drills.Draw) (dsp.Setting, error) {
	voice := voiceIn(d.Clip, d.On)
	if voice == 0 {
		return nil, errNoVoice
	}
	for _, i := range d.R.Perm(len(roomBands)) {
		s := dsp.Setting{bandHz.ID: roomBands[i], bandGain.ID: d.Level, voiceStem.ID: float64(voice)}
		if helpsMost(d.Clip, d.On, s) {
			return s, nil
		}
	}
	return nil, errors.New("no cut would help the voice plainly more than others")
}

// voiceIn is the first voice that plays beside a stem; 0 for none.
func voiceIn(c drills.Clip, beside int) int {
	for _, role := range voices {
		for i, s := range c.Stems {
			if i+1 != beside && s.Role == role && c.Plays(i+1) {
				return i + 1
			}
		}
	}
	return 0
}

// plainer is how many times as much as any other the right cut must help.
// Common practice, no source.
const plainer = 1.25

// helpsMost reports whether a cut in the band that was raised, as deep as that,
// uncovers the voice plainly more than the other cuts would.
func helpsMost(c drills.Clip, on int, s dsp.Setting) bool {
	voice, raised := c.On(int(s.Get(voiceStem))), c.On(on).Tilted(peakDB(c, s.Get(bandHz), s.Get(bandGain)))
	covered := measure.MaskedDB(voice, raised)
	uncovers := func(hz float64) float64 {
		return covered - measure.MaskedDB(voice, raised.Tilted(peakDB(c, hz, -s.Get(bandGain))))
	}
	right := uncovers(s.Get(bandHz))
	return right > 0 && !slices.ContainsFunc(roomBands, func(hz float64) bool {
		return hz != s.Get(bandHz) && uncovers(hz)*plainer > right
	})
}

// peakDB is the response of a peak filter of the drill.
func peakDB(c drills.Clip, hz, gainDB float64) func(float64) float64 {
	set := dsp.Setting{"freqHz": hz, "gainDB": gainDB, "q": roomQ}
	return func(freqHz float64) float64 {
		return dsp.ToDB(cmplx.Abs(eq.Peak.Response(c.Loop.RateHz, freqHz, set)))
	}
}

// eqDB is the response of the peak filter of a setting of freqHz and gainDB.
func eqDB(rateHz, freqHz float64, s dsp.Setting) float64 {
	set := dsp.Setting{"freqHz": s["freqHz"], "gainDB": s["gainDB"], "q": coverQ}
	return dsp.ToDB(cmplx.Abs(eq.Peak.Response(rateHz, freqHz, set)))
}

func roomPeaks(c drills.Clip, on int, s dsp.Setting, gainDB float64) ([]drills.Insert, error) {
	p, err := eq.Peak.New(c.Loop.RateHz, dsp.Setting{"freqHz": s.Get(bandHz), "gainDB": gainDB, "q": roomQ})
	return drills.OnStem(on, p), err
}

// mendRoom is the raised stem with the listener's cut upon it.
func mendRoom(c drills.Clip, on int, truth, guess dsp.Setting) ([]drills.Insert, error) {
	raised, err := roomPeaks(c, on, truth, truth.Get(bandGain))
	if err != nil || len(guess) == 0 {
		return raised, err
	}
	cut, err := roomPeaks(c, on, guess, -truth.Get(bandGain))
	return append(raised, cut...), err
}
