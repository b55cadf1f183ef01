package drills

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"strop/dsp"
	"strop/dsp/measure"
)

// Loop says which few seconds of which material: enough to find them again.
type Loop struct {
	Material   string  `json:"material"`   // content hash
	StartFrame int     `json:"startFrame"` // at the material's own rate
	Frames     int     `json:"frames"`
	RateHz     float64 `json:"rateHz"` // the material's own; sides are rendered at it
}

// Clip is a loop in hand: the mix and, where the material has them, its stems.
// Whoever holds one alters none of its frames.
type Clip struct {
	Loop   Loop
	Facts  measure.Facts
	Name   string      // for people: the song and the place in it
	Frames []dsp.Frame // the mix
	Stems  []Stem      // in the material's order; together they are Frames; nil for a file of one mix
	Beats  Beats
}

// Stem is one stem of a loop.
type Stem struct {
	Name   string
	Role   Role
	Pair   int // number of the stem that is another microphone on the same source, from 1; 0: none
	Facts  measure.Facts
	Traits Traits

	// Load is the stem as loud and where it is in the mix: as many frames as
	// the loop has. It may read them from a disk, and gives the same ones each
	// time; whoever asks alters none of them.
	Load func() ([]dsp.Frame, error)
}

// Traits are what a stem does in a loop, beside its spectrum.
type Traits struct {
	OnsetsPerS float64 // notes or strokes
	CrestDB    float64 // true peak over loudness
	Sustained  float64 // share of the time in which it holds its level, 0 to 1
	Gaps       float64 // share of the time in which it lies 20 dB under its loud level, 0 to 1
	Pitched    float64 // share of the time in which one pitch is found, 0 to 1
	SideDB     float64 // level of the difference of the channels over their sum; -Inf for mono
}

// Beats is the grid that a loop is played to.
type Beats struct {
	TempoBPM float64 // 0: unknown
	FirstS   float64 // time of the first beat in the loop
}

// Where names what a change is made on: a stem by its name, or the mix.
func (c Clip) Where(on int) string {
	if on < 1 || on > len(c.Stems) {
		return "the mix"
	}
	return c.Stems[on-1].Name
}

// Stem is the stem of that number, from 1; nil for the whole mix, and where
// there is none.
func (c Clip) Stem(on int) *Stem {
	if on < 1 || on > len(c.Stems) {
		return nil
	}
	return &c.Stems[on-1]
}

// Target is the sound that a change is made on, alone. It is not to be altered.
func (c Clip) Target(on int) ([]dsp.Frame, error) {
	if s := c.Stem(on); s != nil {
		return s.Load()
	}
	return c.Frames, nil
}

// On are the facts of what a change is made on.
func (c Clip) On(on int) measure.Facts {
	if s := c.Stem(on); s != nil {
		return s.Facts
	}
	return c.Facts
}

// heardLU is how far under the mix a stem may lie and be worked on. Common
// practice, no source.
const heardLU = 30.0

// Plays reports whether a stem can be heard in the loop.
func (c Clip) Plays(on int) bool {
	s := c.Stem(on)
	return s != nil && !math.IsInf(s.Facts.LoudnessLUFS, -1) && s.Facts.LoudnessLUFS > c.Facts.LoudnessLUFS-heardLU
}

// Fit says on what a drill makes sense.
type Fit struct {
	Mix   bool   // the whole mix will do
	Stems bool   // one stem will do, and is taken where there is one
	Roles []Role // only stems of these roles; nil: of any
	Pair  bool   // only a stem that has another microphone on the same source
	Among bool   // the question is about several stems: it is never asked of one alone

	LeastOnsetsPerS float64 // strokes or notes needed
	LeastSustained  float64 // share of the time in which it holds its level
	LeastGaps       float64 // share of the time in which it is down
	LeastPitched    float64 // share of the time in which it has one pitch
	LeastSideDB     float64 // stereo needed: level of side over mid; 0: none is needed
}

func (f Fit) validate(id string) error {
	if !f.Mix && !f.Stems {
		return fmt.Errorf("drill %s: makes sense on nothing: say on the mix, on stems, or on both", id)
	}
	return nil
}

// errUnfit is why a drill is not asked on a loop.
var errUnfit = errors.New("this material has no stem that suits the drill; choose one with stems")

// Targets are what a drill can be asked on in a loop: the numbers of the
// stems that fit or, without one, 0 for the mix where that will do.
func (f Fit) Targets(c Clip) ([]int, error) {
	var on []int
	for i := range c.Stems {
		if f.Stems && c.Plays(i+1) && f.suits(c.Stems[i]) {
			on = append(on, i+1)
		}
	}
	switch {
	case len(on) > 0:
		return on, nil
	case f.Mix:
		return []int{0}, nil
	}
	return nil, errUnfit
}

func (f Fit) suits(s Stem) bool {
	t := s.Traits
	return (f.Roles == nil || slices.Contains(f.Roles, s.Role)) && (!f.Pair || s.Pair > 0) &&
		t.OnsetsPerS >= f.LeastOnsetsPerS && t.Sustained >= f.LeastSustained && t.Gaps >= f.LeastGaps &&
		t.Pitched >= f.LeastPitched && (f.LeastSideDB == 0 || t.SideDB >= f.LeastSideDB)
}
