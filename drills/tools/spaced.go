package tools

import (
	"math"
	"strconv"

	"strop/drills"
	"strop/dsp"
)

// spaced draws values of a parameter, and the answers beside them: as many as
// the way to answer offers, each so far from the next as the level says, as a
// ratio or, where the parameter is linear, as a difference. The ladder is how
// far apart they lie, held to what the range has room for.
type spaced struct {
	param  dsp.Param
	lo, hi float64
	say    func(float64) string
}

// valuesOffered is how many values a way to answer offers.
var valuesOffered = map[string]int{"two": 2, "three": 3}

// step is from one answer to the next, and start and span where the first of
// them may lie, on a scale where equal steps are equal distances.
func (v spaced) step(d drills.Draw) (step, start, span float64) {
	n := float64(valuesOffered[d.Rung.ID])
	start, span = v.on(v.lo), v.on(v.hi)-v.on(v.lo)
	step = min(v.on(d.Level)-v.on(0), span/(n-1))
	return step, start, span - step*(n-1)
}

// on is a value on a scale where equal steps are equal distances: its
// logarithm where the parameter is one of ratios. 0 stands for no distance.
func (v spaced) on(x float64) float64 {
	switch {
	case v.param.Scale != dsp.Log:
		return x
	case x == 0:
		return 0
	}
	return math.Log(x)
}

func (v spaced) off(y float64) float64 {
	if v.param.Scale == dsp.Log {
		y = math.Exp(y)
	}
	return min(max(twoDigits(y), v.lo), v.hi)
}

// draw is one of the answers or, on a scale, any value of the range.
func (v spaced) draw(d drills.Draw) float64 {
	if d.Rung.Surface == drills.Ruler {
		return v.off(v.on(v.lo) + (v.on(v.hi)-v.on(v.lo))*d.R.Float64())
	}
	step, start, span := v.step(d)
	return v.off(start + span*d.R.Float64() + step*float64(d.R.IntN(valuesOffered[d.Rung.ID])))
}

// choices are the value that was drawn and its neighbours. All places among
// them that the range has room for are as likely, so that none tells.
func (v spaced) choices(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
	if d.Rung.Surface == drills.Ruler {
		return nil, nil
	}
	n := valuesOffered[d.Rung.ID]
	step, start, span := v.step(d)
	truth := v.on(asked.Get(v.param))
	var places []int
	for k := range n {
		if first := truth - step*float64(k); first > start-step/4 && first < start+span+step/4 {
			places = append(places, k)
		}
	}
	at := places[d.R.IntN(len(places))]
	values := make([]float64, n)
	for k := range values {
		values[k] = v.off(truth + step*float64(k-at))
	}
	values[at] = asked.Get(v.param)
	return steps(v.param, v.say, values...), nil
}

// twoDigits is v to two digits, as a knob would show it.
func twoDigits(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 2, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// thirdsOf is the third of a range that a truth lies in: "low", "middle" or
// "high".
func thirdsOf(v spaced) func(dsp.Setting) string {
	return func(truth dsp.Setting) string {
		place := (v.on(truth.Get(v.param)) - v.on(v.lo)) / (v.on(v.hi) - v.on(v.lo))
		return [...]string{"low", "middle", "high"}[min(max(int(3*place), 0), 2)]
	}
}

// halfNothing is how often there is nothing where the answer is yes or no.
const halfNothing = 0.5
