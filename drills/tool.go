// Package drills asks a listener what was done to a sound, and keeps the
// answers. Its root types are here; what it needs from outside stands in
// needs.go as interfaces.
package drills

import (
	"errors"
	"fmt"
	"math/rand/v2"

	"strop/dsp"
	"strop/dsp/measure"
)

// Tool is one kind of question about one tool type: data and functions, one
// row of the table in drills/tools. Whatever a driver must know about a drill
// is a field; nothing outside the drill's own file compares its ID.
//
// A truth and a guess are settings of Params. The empty Setting means that
// nothing was changed; every Tool must build, grade and tell it.
type Tool struct {
	ID     string      // key of its records, never changes
	Title  string      // "EQ band"
	Doc    string      // what is trained, one sentence
	Type   string      // the tool type: "EQ"
	Error  string      // the key in Score.Errors that progress is shown in: "errorOct"
	Unit   string      // the unit of that error: "oct"
	Level  dsp.Param   // the ladder: Max is easy, Min the hardest step, Neutral where a newcomer starts
	Rungs  []Rung      // ways to answer, from easy to hard; at least one
	Params []dsp.Param // of a truth and of a guess

	// Ask draws a truth for a level of the ladder. It never draws nothing:
	// that is the driver's to decide.
	Ask func(r *rand.Rand, rung Rung, level float64) dsp.Setting

	// Shows reports, in a sentence, why a loop cannot show a truth; nil: it can.
	Shows func(loop measure.Facts, truth dsp.Setting) error

	// Build makes the processor that turns untouched into changed. For the
	// empty Setting it builds the same path at its neutral setting.
	Build func(rateHz float64, s dsp.Setting) (dsp.Processor, error)

	// Question is the one sentence on the screen. It does not give the answer
	// away, and is the same whether or not anything was changed.
	Question func(rung Rung, asked dsp.Setting) string

	// Read understands a typed answer. What the question does not ask for is
	// taken over from asked, so that the guess can be built and heard.
	Read func(rung Rung, asked dsp.Setting, text string) (guess dsp.Setting, err error)

	// Grade compares a guess with the truth.
	Grade func(rung Rung, truth, guess dsp.Setting) Score

	// Tell says the truth and the guess in the tool's units.
	Tell func(truth, guess dsp.Setting) string

	// Region names the part of the tool's range a truth lies in: the third
	// part of a skill's name, and a row of the progress table.
	Region func(truth dsp.Setting) string
}

// Rung is one way to answer. Without Choices the answer is a value on a
// continuous scale.
type Rung struct {
	ID      string   // "five"; kept in records, never changes
	Title   string   // "five bands"
	Choices []Choice // in order, numbered from 1 for the listener
}

// Choice is one of the answers offered.
type Choice struct {
	Label string      // "3.15 kHz"
	Guess dsp.Setting // the parameters that it decides
}

// Score is how a guess compares with the truth.
type Score struct {
	Right  bool               `json:"right"`
	Errors map[string]float64 `json:"errors,omitempty"` // guess − truth, unit in the key; empty where either is nothing
}

// Validate reports what is missing in the declaration.
func (t Tool) Validate() error {
	if t.ID == "" || t.Title == "" || t.Doc == "" || t.Type == "" || t.Error == "" || t.Unit == "" {
		return fmt.Errorf("drill %q: ID, Title, Doc, Type, Error and Unit are all needed", t.ID)
	}
	if t.Ask == nil || t.Shows == nil || t.Build == nil || t.Question == nil ||
		t.Read == nil || t.Grade == nil || t.Tell == nil || t.Region == nil {
		return fmt.Errorf("drill %s: every function is needed", t.ID)
	}
	if len(t.Rungs) == 0 {
		return fmt.Errorf("drill %s: needs a way to answer", t.ID)
	}
	for _, p := range append([]dsp.Param{t.Level}, t.Params...) {
		if err := p.Validate(); err != nil {
			return fmt.Errorf("drill %s: %w", t.ID, err)
		}
	}
	return nil
}

// ErrNoRung is returned for a way to answer that the drill does not have.
var ErrNoRung = errors.New("no such way to answer")

// Rung is the way to answer with that ID.
func (t Tool) Rung(id string) (Rung, error) {
	for _, r := range t.Rungs {
		if r.ID == id {
			return r, nil
		}
	}
	return Rung{}, fmt.Errorf("%w: %q", ErrNoRung, id)
}
