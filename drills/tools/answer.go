package tools

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"strop/drills"
	"strop/dsp"
)

// scale is an answer that is a value: how it is read, graded and told. Its
// methods are a drill's Read, Grade and Tell.
type scale struct {
	param dsp.Param
	key   string                             // of the error in Score.Errors
	apart func(truth, guess float64) float64 // the error; nil: guess − truth
	near  float64                            // an answer off by no more is right where there are no choices, and the trial says nothing else
	say   func(v float64) string             // "6.0 dB"
	off   func(apart float64) string         // "a third of an octave high"
}

// Read takes the number or the label of a choice, or a value with its unit:
// the nearest choice where there are choices, itself where there are none.
func (a scale) Read(rung drills.Rung, asked dsp.Setting, text string) (dsp.Setting, error) {
	if c, ok := chosen(rung, text); ok {
		return given(asked, c), nil
	}
	v, err := parse(text, a.param)
	if err != nil {
		return nil, err
	}
	if len(rung.Choices) == 0 {
		return asked.With(a.param.ID, v), nil
	}
	best := slices.MinFunc(rung.Choices, func(c, d drills.Choice) int {
		return compare(math.Abs(a.miss(c.Guess.Get(a.param), v)), math.Abs(a.miss(d.Guess.Get(a.param), v)))
	})
	return given(asked, best), nil
}

func compare(x, y float64) int {
	switch {
	case x < y:
		return -1
	case x > y:
		return 1
	}
	return 0
}

func (a scale) miss(truth, guess float64) float64 {
	if a.apart == nil {
		return guess - truth
	}
	return a.apart(truth, guess)
}

// Grade is right as near as the trial or, without that, near has it; where there are
// choices, for the one that is nearest to the truth.
func (a scale) Grade(rung drills.Rung, truth, guess dsp.Setting) drills.Score {
	if len(truth) == 0 || len(guess) == 0 {
		return drills.Score{Right: len(truth) == len(guess)}
	}
	t, g := truth.Get(a.param), guess.Get(a.param)
	miss := a.miss(t, g)
	right := math.Abs(miss) <= cmp.Or(rung.Near, a.near)+1e-9
	if len(rung.Choices) > 0 {
		right = !slices.ContainsFunc(rung.Choices, func(c drills.Choice) bool {
			return math.Abs(a.miss(t, c.Guess.Get(a.param))) < math.Abs(miss)-1e-9
		})
	}
	return drills.Score{Right: right, Errors: map[string]float64{a.key: miss}}
}

// Tell says "It was 6 dB; you said 4 dB, 2 dB too little."
func (a scale) Tell(rung drills.Rung, truth, guess dsp.Setting) string {
	name := func(s dsp.Setting) string { return a.say(s.Get(a.param)) }
	if text, told := tellNothing(truth, guess, name); told {
		return text
	}
	if a.Grade(rung, truth, guess).Right && name(truth) == name(guess) {
		return "It was " + name(truth) + ", as you said."
	}
	return fmt.Sprintf("It was %s; you said %s, %s.", name(truth), name(guess), a.off(a.miss(truth.Get(a.param), guess.Get(a.param))))
}

// cards is an answer that is one of several things. Two settings are the same
// answer where the parameters that tell them apart are equal.
type cards struct {
	params []dsp.Param              // what the cards decide
	say    func(dsp.Setting) string // "the lead vocal"
}

// wrong is the error of answers that are right or wrong: 0 or 1.
const wrong = "wrong"

// Read takes the number of a card, its label, or a beginning of it that no
// other has.
func (a cards) Read(rung drills.Rung, asked dsp.Setting, text string) (dsp.Setting, error) {
	if c, ok := chosen(rung, text); ok {
		return given(asked, c), nil
	}
	return nil, fmt.Errorf("%q is none of the answers: give a number from 1 to %d", text, len(rung.Choices))
}

// Grade is right where the card is the truth's.
func (a cards) Grade(_ drills.Rung, truth, guess dsp.Setting) drills.Score {
	if len(truth) == 0 || len(guess) == 0 {
		return drills.Score{Right: len(truth) == len(guess)}
	}
	for _, p := range a.params {
		if math.Abs(truth.Get(p)-guess.Get(p)) > 1e-9 {
			return drills.Score{Errors: map[string]float64{wrong: 1}}
		}
	}
	return drills.Score{Right: true, Errors: map[string]float64{wrong: 0}}
}

// Tell says "It was the snare; you said the hat."
func (a cards) Tell(rung drills.Rung, truth, guess dsp.Setting) string {
	if text, told := tellNothing(truth, guess, a.say); told {
		return text
	}
	if a.Grade(rung, truth, guess).Right {
		return "It was " + a.say(truth) + ", as you said."
	}
	return "It was " + a.say(truth) + "; you said " + a.say(guess) + "."
}

// tellNothing tells a truth or a guess that is nothing.
func tellNothing(truth, guess dsp.Setting, name func(dsp.Setting) string) (text string, told bool) {
	switch {
	case len(truth) == 0 && len(guess) == 0:
		return "Nothing was changed, as you said.", true
	case len(truth) == 0:
		return "Nothing was changed; you said " + name(guess) + ".", true
	case len(guess) == 0:
		return "It was " + name(truth) + "; you said nothing was changed.", true
	}
	return "", false
}

// chosen is the choice of a number from 1, a label, or the beginning of just
// one label.
func chosen(rung drills.Rung, text string) (drills.Choice, bool) {
	word := strings.ToLower(strings.TrimSpace(text))
	if n, err := strconv.Atoi(word); err == nil && n >= 1 && n <= len(rung.Choices) {
		return rung.Choices[n-1], true
	}
	var found []drills.Choice
	for _, c := range rung.Choices {
		switch label := strings.ToLower(c.Label); {
		case word == label:
			return c, true
		case word != "" && strings.HasPrefix(label, word):
			found = append(found, c)
		}
	}
	if len(found) == 1 {
		return found[0], true
	}
	return drills.Choice{}, false
}

// given is what was asked with a choice laid over it.
func given(asked dsp.Setting, c drills.Choice) dsp.Setting {
	s := maps.Clone(asked)
	maps.Copy(s, c.Guess)
	return s
}

// parse reads a value with or without its unit: "2k5", "-6 dB", "1.2 s".
func parse(text string, p dsp.Param) (float64, error) {
	if p.Unit == "Hz" {
		hz, err := dsp.ParseHz(text)
		return hz, checked(p, hz, err)
	}
	number := strings.ToLower(strings.TrimSpace(text))
	number = strings.NewReplacer("−", "-", ",", ".", "+", "", ":1", "").Replace(number)
	factor := 1.0
	if unit := strings.ToLower(p.Unit); unit != "" && strings.HasSuffix(number, unit) {
		number = strings.TrimSuffix(number, unit)
	} else if unit == "ms" && strings.HasSuffix(number, "s") {
		number, factor = strings.TrimSuffix(number, "s"), 1000
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil {
		return 0, fmt.Errorf("%q is not a value in %s", strings.TrimSpace(text), unitName(p.Unit))
	}
	return v * factor, checked(p, v*factor, nil)
}

func unitName(unit string) string {
	if unit == "" {
		return "numbers"
	}
	return unit
}

// checked reports whether v may be given, in the words of a listener, who does
// not know what a parameter's ID is.
func checked(p dsp.Param, v float64, err error) error {
	switch {
	case err != nil:
		return err
	case v < p.Min || v > p.Max:
		return fmt.Errorf("%g is outside %g to %s", v, p.Min, strings.TrimSpace(fmt.Sprintf("%g %s", p.Max, p.Unit)))
	}
	return p.Check(v)
}

// over says by how much a value misses: "2 dB too much".
func over(say func(float64) string, more, less string) func(float64) string {
	return func(apart float64) string {
		switch {
		case apart > 0:
			return say(apart) + " " + more
		case apart < 0:
			return say(-apart) + " " + less
		}
		return "just so"
	}
}

// steps are choices a certain way apart, for rungs whose answers are values.
func steps(p dsp.Param, say func(float64) string, values ...float64) (choices []drills.Choice) {
	for _, v := range values {
		choices = append(choices, drills.Choice{Label: say(v), Guess: dsp.Setting{p.ID: v}})
	}
	return choices
}

// unit says a value with so many decimals and a unit: unit(1, "dB")(6) is
// "6.0 dB".
func unit(decimals int, name string) func(float64) string {
	return func(v float64) string {
		text := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
		if v < 0 && strings.ContainsAny(text, "123456789") {
			text = "−" + text
		}
		return strings.TrimSpace(text + " " + name)
	}
}

// between draws a value evenly on p's own scale.
func between(d drills.Draw, p dsp.Param, lo, hi float64) float64 {
	from, to := p.Place(lo), p.Place(hi)
	return p.At(from + (to-from)*d.R.Float64())
}

// upTo draws a size for an answer on a scale: from the level to so many times
// it, as far as the ladder goes. At the easy end it begins lower, so that the
// level never tells the size.
func upTo(d drills.Draw, ladder dsp.Param, times float64) float64 {
	hi := min(times*d.Level, ladder.Max)
	lo := max(min(d.Level, hi/times), ladder.Min)
	return lo + (hi-lo)*d.R.Float64()
}

// within is near, and half of the size of a change where that is less: as if
// nothing were changed is then no answer to a small one.
func within(near float64) func(size float64) float64 {
	return func(size float64) float64 { return min(near, size/2) }
}

// either is a or b, as likely.
func either(d drills.Draw, a, b float64) float64 {
	if d.R.IntN(2) == 0 {
		return a
	}
	return b
}

// anywhere is the region of drills whose range is all alike.
func anywhere(truth dsp.Setting) string { return drills.Everywhere }

// it is what a change is made on, in a question: a stem by its name, "it"
// where that is all that is heard.
func it(d drills.Draw) string {
	if d.On == 0 {
		return "it"
	}
	return d.Where()
}

// of is " of Snare top", or nothing for the mix.
func of(d drills.Draw) string {
	if d.On == 0 {
		return ""
	}
	return " of " + d.Where()
}

// labelIn names an answer as it was offered, by the parameter that the choices
// decide.
func labelIn(rung drills.Rung, p dsp.Param) func(dsp.Setting) string {
	return func(s dsp.Setting) string {
		for _, c := range rung.Choices {
			if math.Abs(c.Guess.Get(p)-s.Get(p)) < 1e-9 {
				return c.Label
			}
		}
		return "another answer"
	}
}
