package tools

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/stereo"
)

var micLate = dsp.Param{ID: "delayMS", Name: "delay", Unit: "ms", Min: 0.05, Max: 20, Neutral: 1, Scale: dsp.Log}

var micDelayAnswer = scale{
	param: micLate, key: "errorOct", near: 0.5,
	apart: dsp.Octaves,
	say:   delayAndWay,
	off:   over(func(oct float64) string { return fmt.Sprintf("%.2g times", math.Exp2(math.Abs(oct))) }, "too long", "too short"),
}

// delayAndWay says a delay and the way that sound takes in it: "1.0 ms, 34 cm".
func delayAndWay(ms float64) string {
	return significant(ms) + " ms, " + significant(ms/10*stereo.SpeedOfSoundMPS) + " cm"
}

// significant writes two figures.
func significant(v float64) string {
	digits := max(0, 1-int(math.Floor(math.Log10(math.Abs(v)))))
	return strconv.FormatFloat(v, 'f', digits, 64)
}

// micDelay asks by how much one of two microphones on the same source was
// delayed against the other.
//
// The ladder is how far apart the answers lie, in octaves of time. A copy is
// heard as a comb from 0.1 to 15 ms: S. Brunner, H.-J. Maempel, S. Weinzierl,
// AES 122nd Convention (2007). Delays of rippled noise are told apart from 2 to
// 5 %: W. A. Yost, R. Hill, T. Perez-Falcon, JASA 63 (1978) (from memory); 0.14
// octaves are 10 %.
func micDelay() drills.Tool {
	return drills.Tool{
		ID: "mic-delay", Title: "Delay between microphones", Type: "phase",
		Doc:        "Hear by how many milliseconds, or centimetres, one of two microphones on a source was delayed.",
		Source:     "combs are heard from 0.1 to 15 ms: Brunner, Maempel & Weinzierl, AES 122nd Convention (2007); delays of rippled noise are told apart from 2 to 5 %: W. A. Yost, R. Hill & T. Perez-Falcon, JASA 63 (1978), from memory",
		Confusable: []string{"mic-polarity", "comb-depth"},
		Error:      micDelayAnswer.key, Unit: "oct",
		Level:     dsp.Param{ID: "apartOct", Name: "octaves from answer to answer", Unit: "oct", Min: 0.14, Max: 2.5, Neutral: 2, Scale: dsp.Log},
		OwnLadder: true, Floor: drills.AtThreshold,
		Near: func(apartOct float64) float64 { return apartOct / 2 },
		Rungs: []drills.Rung{
			{ID: "three", Title: "short, middling, long", Surface: drills.Cards},
			{ID: "free", Title: "in ms or cm", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{micLate},
		Fit:          drills.Fit{Stems: true, Pair: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			if d.Rung.Surface == drills.Ruler {
				return dsp.Setting{micLate.ID: between(d, micLate, 0.2, 12)}, nil
			}
			return dsp.Setting{micLate.ID: delaysMS(d.Level)[d.R.IntN(3)]}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return steps(micLate, delayAndWay, delaysMS(d.Level)...), nil
		},
		Change: changeMicDelay,
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "By how much was " + d.Where() + " delayed against " + partnerOf(d) + "?"
		},
		Read: readDelay(micDelayAnswer.Read), Grade: micDelayAnswer.Grade, Tell: micDelayAnswer.Tell,
		Region: func(truth dsp.Setting) string {
			if truth.Get(micLate) < 1 {
				return "under 1 ms"
			}
			return "1 ms and more"
		},
	}
}

// delaysMS are a short, a middling and a long delay.
func delaysMS(apartOct float64) []float64 {
	step := math.Exp2(apartOct)
	return []float64{1.2 / step, 1.2, 1.2 * step}
}

func changeMicDelay(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	p, err := stereo.Delay.New(c.Loop.RateHz, dsp.Setting{"delayMS": s.Get(micLate), "left": 1, "right": 1})
	return onOneOfTwo(c, on, p), err
}

// readDelay takes centimetres and metres as well, as the way of sound in a
// time.
func readDelay(read func(drills.Rung, dsp.Setting, string) (dsp.Setting, error)) func(drills.Rung, dsp.Setting, string) (dsp.Setting, error) {
	return func(r drills.Rung, asked dsp.Setting, text string) (dsp.Setting, error) {
		number, cm := strings.CutSuffix(strings.ToLower(strings.TrimSpace(text)), "cm")
		ways := 0.01
		if !cm && strings.HasSuffix(number, "m") {
			number, cm, ways = strings.TrimSuffix(number, "m"), true, 1
		}
		v, err := strconv.ParseFloat(strings.ReplaceAll(strings.TrimSpace(number), ",", "."), 64)
		if cm && err == nil {
			text = strconv.FormatFloat(v*ways/stereo.SpeedOfSoundMPS*1000, 'f', -1, 64) + " ms"
		}
		return read(r, asked, text)
	}
}
