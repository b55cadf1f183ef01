package drills

import (
	"time"

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

// Clip is a loop in hand.
type Clip struct {
	Loop   Loop
	Facts  measure.Facts
	Name   string      // for people: the song and the place in it
	Frames []dsp.Frame // never altered by whoever holds a Clip
}

// Condition is what a result holds for. Results of different conditions are
// never pooled.
type Condition struct {
	Transducer string `json:"transducer"` // "headphones", "loudspeakers", or "unstated"
	Heard      string `json:"heard"`      // "mix": the whole material; "alone": a stem by itself
}

// Trial is one question, with everything needed to make its sound again.
type Trial struct {
	Session     string      `json:"session"` // the sitting it belongs to
	Number      int         `json:"number"`  // in the sitting, from 1
	Tool        string      `json:"tool"`
	Rung        string      `json:"rung"`
	Condition   Condition   `json:"condition"`
	Seed        uint64      `json:"seed"`  // of the trial's own random source
	Level       float64     `json:"level"` // on the tool's ladder
	Loop        Loop        `json:"loop"`
	Asked       dsp.Setting `json:"asked"`       // what the question is about
	Truth       dsp.Setting `json:"truth"`       // what was rendered: Asked, or empty where nothing was changed
	UntouchedDB float64     `json:"untouchedDB"` // gain given to the untouched side
	ChangedDB   float64     `json:"changedDB"`   // gain given to the changed side
	ResidualLU  float64     `json:"residualLU"`  // loudness of changed − untouched, as played
}

// Answer is what the listener said, and how.
type Answer struct {
	Guess    dsp.Setting `json:"guess"` // empty: nothing was changed
	TookS    float64     `json:"tookS"` // from first sound to answer
	Switches int         `json:"switches"`
}

// Record is a trial that was answered. It is never altered.
type Record struct {
	At     time.Time `json:"at"`
	Trial  Trial     `json:"trial"`
	Answer Answer    `json:"answer"`
	Score  Score     `json:"score"`
}
