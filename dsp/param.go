package dsp

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Scale says how a parameter's range is laid out on a ruler or a knob.
type Scale int

const (
	Linear Scale = iota // equal steps are equal differences
	Log                 // equal steps are equal ratios; Min is above 0
	Whole               // whole numbers only, laid out linearly
)

// Param declares one parameter. It is declared once, beside the processor or
// the drill it belongs to, and read by everything that shows, parses, stores
// or tests a setting.
type Param struct {
	ID      string  // key in a Setting, unit last: "freqHz"; never changes
	Name    string  // what a person reads: "frequency"
	Unit    string  // "Hz", "dB", "ms", "" for a pure number
	Min     float64 // least value allowed
	Max     float64 // greatest value allowed
	Neutral float64 // value taken where a setting is silent
	Scale   Scale
	Step    float64 // values lie a whole number of steps from Min; 0: anywhere
}

// Validate reports what is wrong with the declaration itself.
func (p Param) Validate() error {
	switch {
	case p.ID == "" || p.Name == "":
		return fmt.Errorf("parameter %q: needs an ID and a name", p.ID)
	case !(p.Min < p.Max):
		return fmt.Errorf("parameter %s: Min %g is not below Max %g", p.ID, p.Min, p.Max)
	case p.Scale == Log && p.Min <= 0:
		return fmt.Errorf("parameter %s: a logarithmic range must start above 0", p.ID)
	case p.Step != 0 && (p.Step < 0 || p.Scale != Linear || p.Max != p.onStep(p.Max)):
		return fmt.Errorf("parameter %s: steps of %g do not divide a linear range from %g to %g", p.ID, p.Step, p.Min, p.Max)
	}
	return p.Check(p.Neutral)
}

// Check reports whether v may be a value of p. It never repairs v.
func (p Param) Check(v float64) error {
	switch {
	case math.IsNaN(v):
		return fmt.Errorf("%s is not a number", p.ID)
	case v < p.Min || v > p.Max:
		return fmt.Errorf("%s=%g is outside %g to %g%s", p.ID, v, p.Min, p.Max, unitSuffix(p.Unit))
	case p.Scale == Whole && v != math.Trunc(v):
		return fmt.Errorf("%s=%g is not a whole number", p.ID, v)
	case p.Step > 0 && v != p.onStep(v):
		return fmt.Errorf("%s=%g is not a whole number of steps of %g%s from %g", p.ID, v, p.Step, unitSuffix(p.Unit), p.Min)
	}
	return nil
}

// onStep is the value on a step that is nearest to v.
func (p Param) onStep(v float64) float64 { return p.Min + p.Step*math.Round((v-p.Min)/p.Step) }

func unitSuffix(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

// Place is where v lies in the range, 0 at Min and 1 at Max.
func (p Param) Place(v float64) float64 {
	if p.Scale == Log {
		return math.Log(v/p.Min) / math.Log(p.Max/p.Min)
	}
	return (v - p.Min) / (p.Max - p.Min)
}

// At is the value at place, the inverse of Place, on a step or whole where p
// asks for it.
func (p Param) At(place float64) float64 {
	switch {
	case p.Step > 0:
		return p.onStep(p.Min + place*(p.Max-p.Min))
	case p.Scale == Log:
		return p.Min * math.Pow(p.Max/p.Min, place)
	case p.Scale == Whole:
		return math.Round(p.Min + place*(p.Max-p.Min))
	}
	return p.Min + place*(p.Max-p.Min)
}

// Setting is the values of a processor's or a drill's parameters, by Param.ID.
// A parameter that is absent has its neutral value.
type Setting map[string]float64

// Get is the value of p in s.
func (s Setting) Get(p Param) float64 {
	if v, ok := s[p.ID]; ok {
		return v
	}
	return p.Neutral
}

// With is a copy of s in which the parameter id has the value v.
func (s Setting) With(id string, v float64) Setting {
	c := make(Setting, len(s)+1)
	maps.Copy(c, s)
	c[id] = v
	return c
}

// Check reports the first value in s that params do not allow, in the order
// of the IDs: an unknown ID, or a value out of range.
func (s Setting) Check(params []Param) error {
	for _, id := range slices.Sorted(maps.Keys(s)) {
		i := slices.IndexFunc(params, func(p Param) bool { return p.ID == id })
		if i < 0 {
			return fmt.Errorf("there is no parameter %q; there are %s", id, paramList(params))
		}
		if err := params[i].Check(s[id]); err != nil {
			return err
		}
	}
	return nil
}

func paramList(params []Param) string {
	ids := make([]string, len(params))
	for i, p := range params {
		ids[i] = p.ID
	}
	return strings.Join(ids, ", ")
}

// Text is s as "id=value id=value", in the order of params, shortest exact
// numbers, neutral values left out.
func (s Setting) Text(params []Param) string {
	var words []string
	for _, p := range params {
		if v := s.Get(p); v != p.Neutral {
			words = append(words, p.ID+"="+strconv.FormatFloat(v, 'g', -1, 64))
		}
	}
	return strings.Join(words, " ")
}
