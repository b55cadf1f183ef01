// Package drills asks a listener what was done to a sound, and keeps the
// answers. Its root types are here; what it needs from outside stands in
// needs.go as interfaces.
package drills

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"

	"strop/dsp"
)

// Tool is one kind of question about one tool type: data and functions, one
// row of the table in drills/tools. Whatever a driver must know about a drill
// is a field; nothing outside the drill's own file compares its ID.
//
// A truth and a guess are settings of Params. The empty Setting means that
// nothing was changed; every Tool must make, grade and tell it.
type Tool struct {
	ID         string      // key of its records, never changes
	Title      string      // "EQ band"
	Doc        string      // what is trained, one sentence
	Type       string      // the tool type: "EQ"
	Source     string      // where the hard end of the ladder comes from
	Confusable []string    // IDs of drills whose changes are easily taken for this one's
	Error      string      // the key in Score.Errors that progress is shown in: "errorOct"
	Unit       string      // the unit of that error: "oct"
	Level      dsp.Param   // the ladder: Max is easy, Min the hardest step, Neutral where a newcomer starts
	Floor      Floor       // what the hard end is set by
	Rungs      []Rung      // ways to answer, from easy to hard; at least one
	Params     []dsp.Param // of a truth and of a guess; the first is what is asked
	Fit        Fit         // on what it makes sense

	// NothingShare is the share of trials in which nothing is changed, and
	// "nothing" is an answer; 0 where it is none.
	NothingShare float64

	// LevelAsked says that level is what is asked: the sides are then not
	// matched in loudness, and one gain holds for all of them.
	LevelAsked bool

	// OwnLadder says that the ladder is not one of how much is heard, but of
	// something else that makes an answer hard, such as how far apart the
	// answers lie. Practice then aims at a level, and else at an audibility.
	OwnLadder bool

	// Near is how near an answer on a scale has to come at a level to be right,
	// in the unit of the error; nil where that does not depend on the level.
	// Of a drill with an OwnLadder, it is what the level means there.
	Near func(level float64) float64

	// Cue is what is heard beside the loop on both sides, such as a click on its
	// beats, and what Change makes for the empty Setting; "" for nothing.
	Cue string

	// Brief says that changes are short events, such as clicks: whether one can
	// be heard is then told by its loudest moment, not by a tenth of the time.
	Brief bool

	// Ask draws a truth, or says why this loop cannot show one. It never draws
	// nothing: that is the driver's to decide.
	Ask func(d Draw) (dsp.Setting, error)

	// Choices are the answers offered where they depend on the loop, nil for
	// those of the rung. Their order does not give the truth away.
	Choices func(d Draw, asked dsp.Setting) ([]Choice, error)

	// Change is how s is made on a loop: what is put on which stems. on is the
	// number of the stem it was drawn for, from 1, and 0 for the whole mix. For
	// the empty Setting it is what stands in the way of the sound while
	// nothing is done: often nothing.
	Change func(c Clip, on int, s dsp.Setting) ([]Insert, error)

	// Measure is asked, unless it is nil, for the truth as it came out where
	// that is not the setting: a gain reduction, a decay.
	Measure func(m Made) (dsp.Setting, error)

	// Mend, where it is not nil, makes the drill one of undoing: the changed
	// side hides a change, a guess is the setting of a tool that should undo
	// it, and Mend is the hidden change with the guess upon it.
	Mend func(c Clip, on int, truth, guess dsp.Setting) ([]Insert, error)

	// Match makes the drill one of matching, for tools that nothing undoes: the
	// changed side is what a guess, laid on the untouched one, should come out
	// as. Mend is then nil. It is right as well where the difference is not heard.
	Match bool

	// Turns are the parameters that its knobs turn, where those are not all of
	// Params.
	Turns []dsp.Param

	// Start is where the tool of a drill of undoing or matching stands when it is first
	// heard, after what is meant was said. nil: anywhere on each parameter.
	Start func(d Draw, truth dsp.Setting) dsp.Setting

	// Question is the one sentence on the screen. It does not give the answer
	// away, and is the same whether or not anything was changed.
	Question func(d Draw, asked dsp.Setting) string

	// Read understands a typed answer. What the question does not ask for is
	// taken over from asked, so that the guess can be made and heard.
	Read func(rung Rung, asked dsp.Setting, text string) (guess dsp.Setting, err error)

	// Grade compares a guess with the truth.
	Grade func(rung Rung, truth, guess dsp.Setting) Score

	// Tell says the truth and the guess in the tool's units.
	Tell func(rung Rung, truth, guess dsp.Setting) string

	// Region names the part of the tool's range a truth lies in: the second
	// part of a skill's name, and a row of the progress table. It is Everywhere
	// where the range is all alike.
	Region func(truth dsp.Setting) string
}

// TitleBy is a drill's title with how it is answered: "EQ band, five bands".
// What would be said twice is said once.
func TitleBy(title, way string) string {
	if strings.EqualFold(title, way) {
		return title
	}
	return title + ", " + way
}

// Everywhere is the region of tools whose range is all alike.
const Everywhere = "everywhere"

// Draw is what a trial is drawn from. The same Draw gives the same trial.
type Draw struct {
	R     *rand.Rand
	Rung  Rung
	Level float64 // on the tool's ladder
	Clip  Clip
	On    int // number of the stem, from 1; 0: the whole mix
}

// Where names what a change is made on, as a person would: "the lead vocal",
// "the mix".
func (d Draw) Where() string { return d.Clip.Where(d.On) }

// Rung is one way to answer. Without Choices, of its own or of the drill's,
// the answer is a value of the drill's first parameter.
type Rung struct {
	ID      string   // "five"; kept in records, never changes
	Title   string   // "five bands"
	Surface Surface  // what the answer is given on
	Choices []Choice // in order, numbered from 1 for the listener
	Near    float64  // of a trial on a scale: as near an answer is right; 0: as near as the drill has it
}

// Floor is what the hard end of a ladder is set by.
type Floor uint8

const (
	// AtExcitation: there about 1 dB of excitation changes, which is the least
	// that is usually heard, and at the easy end plainly more: of the loop or,
	// with an OwnLadder, between an answer and the nearest wrong one.
	AtExcitation Floor = iota
	// AtThreshold: the hard end is once or twice the least difference that was
	// published, in the unit of the ladder. Source names it.
	AtThreshold
	// OfKinds: kinds are told apart that have no size. The level is how much of
	// the sound they take part in.
	OfKinds
)

// String says it in a few words.
func (f Floor) String() string {
	switch f {
	case AtThreshold:
		return "published threshold"
	case OfKinds:
		return "kinds"
	}
	return "excitation"
}

// Surface is what an answer is given on.
type Surface uint8

const (
	Ruler  Surface = iota // a value on the first parameter's own scale, with bands where there are choices
	Cards                 // choices as cards
	Arc                   // a place between left and right
	Stems                 // the stems of the loop, one of which is meant
	Matrix                // pairs: what a choice names as its row, against its column
	Knobs                 // every parameter, turned while it sounds
)

// Choice is one of the answers offered.
type Choice struct {
	Label  string      // "3.15 kHz"
	Row    string      // on a Matrix: "Guitar"
	Column string      // and "Lead vocal"
	Guess  dsp.Setting // the parameters that it decides
}

// Score is how a guess compares with the truth.
type Score struct {
	Right  bool               `json:"right"`
	Errors map[string]float64 `json:"errors,omitempty"` // guess − truth, unit in the key; empty where either is nothing
}

// Validate reports what is missing in the declaration.
func (t Tool) Validate() error {
	for name, s := range map[string]string{
		"ID": t.ID, "Title": t.Title, "Doc": t.Doc, "Type": t.Type, "Source": t.Source, "Error": t.Error, "Unit": t.Unit,
	} {
		if s == "" {
			return fmt.Errorf("drill %q: %s is needed", t.ID, name)
		}
	}
	if t.Ask == nil || t.Change == nil || t.Question == nil ||
		t.Read == nil || t.Grade == nil || t.Tell == nil || t.Region == nil {
		return fmt.Errorf("drill %s: Ask, Change, Question, Read, Grade, Tell and Region are needed", t.ID)
	}
	if t.Match && t.Mend != nil {
		return fmt.Errorf("drill %s: it undoes or it matches, not both", t.ID)
	}
	if len(t.Rungs) == 0 || len(t.Params) == 0 {
		return fmt.Errorf("drill %s: needs a way to answer, and a parameter", t.ID)
	}
	if !(t.NothingShare >= 0 && t.NothingShare < 1) {
		return fmt.Errorf("drill %s: a share of %g without a change cannot be", t.ID, t.NothingShare)
	}
	for _, p := range append([]dsp.Param{t.Level}, t.Params...) {
		if err := p.Validate(); err != nil {
			return fmt.Errorf("drill %s: %w", t.ID, err)
		}
	}
	return t.Fit.validate(t.ID)
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

// Knobs are the parameters that a tool is turned by.
func (t Tool) Knobs() []dsp.Param {
	if t.Turns != nil {
		return t.Turns
	}
	return t.Params
}

// Turned reports whether the answer is a tool that is turned while it sounds:
// to undo a change, or to match one.
func (t Tool) Turned() bool { return t.Mend != nil || t.Match }

// start draws where a tool that is turned stands at first; nil for other
// drills.
func (t Tool) start(d Draw, truth dsp.Setting) dsp.Setting {
	switch {
	case !t.Turned():
		return nil
	case t.Start != nil:
		return t.Start(d, truth)
	}
	s := dsp.Setting{}
	for _, p := range t.Knobs() {
		s[p.ID] = p.At(d.R.Float64())
	}
	return s
}

// Chance is how often a listener who guesses is right: one of the choices,
// "nothing" among them where it is an answer. On a continuous scale it is
// taken for 0.
func (t Tool) Chance(choices int) float64 {
	switch {
	case choices == 0:
		return 0
	case t.NothingShare > 0:
		return 1 / float64(choices+1)
	}
	return 1 / float64(choices)
}
