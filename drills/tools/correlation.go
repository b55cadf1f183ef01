package tools

import (
	"errors"
	"math"

	"strop/drills"
	"strop/dsp"
)

var correlationParam = dsp.Param{ID: "correlation", Name: "correlation", Min: -1, Max: 1, Neutral: 1}

var correlationAnswer = scale{
	param: correlationParam, key: "errorCorrelation", near: 0.2,
	say: func(v float64) string { return signed(v) },
	off: over(unit(2, ""), "too high", "too low"),
}

// signed writes a correlation as meters do: "+0.50".
func signed(v float64) string {
	text := unit(2, "")(v)
	if v > 0.005 {
		return "+" + text
	}
	return text
}

// correlation asks what a correlation meter would read of a mix whose side was
// raised or lowered.
//
// The ladder is how far apart the answers lie. From a correlation of 1 a change
// of 0.04 is heard, from 0 one of about 0.4: K. J. Gabriel, H. S. Colburn,
// Interaural correlation discrimination, JASA 69 (1981) (from memory).
func correlation() drills.Tool {
	return drills.Tool{
		ID: "correlation", Title: "Correlation by ear", Type: "phase",
		Doc:        "Hear how alike left and right are, as a correlation meter reads it.",
		Source:     "least difference, 0.04 from +1 and about 0.4 from 0: K. J. Gabriel & H. S. Colburn, JASA 69 (1981), from memory",
		Confusable: []string{"width", "mono-fold"},
		Error:      correlationAnswer.key, Unit: "of 1",
		Level:     dsp.Param{ID: "apart", Name: "from answer to answer", Min: 0.3, Max: 0.6, Neutral: 0.5},
		OwnLadder: true, Floor: drills.AtThreshold,
		Near: func(apart float64) float64 { return apart / 2 },
		Rungs: []drills.Rung{
			{ID: "three", Title: "one of three", Surface: drills.Cards},
			{ID: "free", Title: "as the meter reads", Surface: drills.Ruler},
		},
		Params: []dsp.Param{correlationParam},
		Fit:    drills.Fit{Mix: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			choices, err := correlations(d)
			if err != nil {
				return nil, err
			}
			if d.Rung.Surface == drills.Ruler {
				return dsp.Setting{correlationParam.ID: between(d, correlationParam, -0.6, 0.9)}, nil
			}
			return dsp.Setting{correlationParam.ID: choices[d.R.IntN(len(choices))]}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			choices, err := correlations(d)
			return steps(correlationParam, signed, choices...), err
		},
		Change:   changeCorrelation,
		Question: func(drills.Draw, dsp.Setting) string { return "What does the correlation meter read now?" },
		Read:     correlationAnswer.Read, Grade: correlationAnswer.Grade, Tell: correlationAnswer.Tell,
		Region: func(truth dsp.Setting) string {
			if truth.Get(correlationParam) < 0 {
				return "below 0"
			}
			return "0 and above"
		},
	}
}

// correlations are three that lie a level apart, none of them near to what the
// mix has untouched: that would be no change.
func correlations(d drills.Draw) ([]float64, error) {
	w, err := wideOf(d.Clip, d.On)
	if err != nil {
		return nil, err
	}
	own := w.powers().correlation(1)
	for _, middle := range []float64{0.25, 0.2, 0.3, 0.15, 0.1, 0.05, 0, -0.05} {
		three := []float64{middle + d.Level, middle, middle - d.Level}
		nearest := math.Inf(1)
		for _, c := range three {
			nearest = min(nearest, math.Abs(c-own))
		}
		if nearest > 0.1 {
			return three, nil
		}
	}
	return nil, errors.New("no three correlations differ enough from that of " + w.name)
}

// correlation is that of left and right with the side turned by a ratio.
func (p powers) correlation(ratio float64) float64 {
	side, both := p.side*ratio*ratio, p.both*ratio
	return (p.mid - side) / math.Sqrt((p.mid+side)*(p.mid+side)-4*both*both)
}

// changeCorrelation turns the side to where left and right correlate as asked:
// the more side, the less they do.
func changeCorrelation(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	w, err := wideOf(c, on)
	if err != nil {
		return nil, err
	}
	p := w.powers()
	loDB, hiDB := -40.0, mostSideDB
	if p.correlation(dsp.FromDB(hiDB)) > s.Get(correlationParam) {
		return nil, errors.New(w.name + " has too little side")
	}
	for range 40 {
		if db := (loDB + hiDB) / 2; p.correlation(dsp.FromDB(db)) > s.Get(correlationParam) {
			loDB = db
		} else {
			hiDB = db
		}
	}
	return w.insert(sides(dsp.FromDB(hiDB))), nil
}

// mostSideDB is how far a side is raised. Common practice, no source.
const mostSideDB = 24.0

// sides turns the side by a ratio and leaves the middle, without the limit of
// a width in per cent. No latency.
type sides float64

var _ dsp.Processor = sides(1)

// Process turns the side of each frame.
func (r sides) Process(buf []dsp.Frame) {
	for i, f := range buf {
		m, s := (f[0]+f[1])/2, float64(r)*(f[0]-f[1])/2
		buf[i] = dsp.Frame{m + s, m - s}
	}
}

// Reset does nothing: there is no memory.
func (sides) Reset() {}
