package drills

import (
	"time"

	"strop/dsp"
)

// Condition is what a result holds for. Results of different conditions are
// never pooled.
type Condition struct {
	Transducer string `json:"transducer"` // "headphones", "loudspeakers", or "unstated"
	Heard      string `json:"heard"`      // InMix or Alone
}

// What of a loop is heard.
const (
	InMix = "mix"   // the whole material
	Alone = "alone" // the stems that the question is about, by themselves
)

// Trial is one question, with everything needed to make its sound again.
type Trial struct {
	Session     string      `json:"session"` // the sitting it belongs to
	Number      int         `json:"number"`  // in the sitting, from 1
	Tool        string      `json:"tool"`
	Rung        string      `json:"rung"`
	Condition   Condition   `json:"condition"`
	Kind        Kind        `json:"kind,omitempty"`
	Seed        uint64      `json:"seed"`  // of the trial's own random source
	Level       float64     `json:"level"` // on the tool's ladder
	Loop        Loop        `json:"loop"`
	Stem        int         `json:"stem,omitempty"`      // number of the stem it is made on, from 1; 0: the whole mix
	On          string      `json:"on,omitempty"`        // the stem's name
	Role        Role        `json:"role,omitempty"`      // and what it is
	Choices     int         `json:"choices,omitempty"`   // how many answers were offered, without "nothing"; 0: a scale
	Asked       dsp.Setting `json:"asked"`               // what the question is about
	Truth       dsp.Setting `json:"truth"`               // what was rendered, as measured; empty where nothing was changed
	AudibleDB   float64     `json:"audibleDB,omitempty"` // change of excitation that Asked makes on this loop
	Chance      float64     `json:"chance,omitempty"`    // predicted chance of a right answer; 0: none was predicted
	RoveDB      float64     `json:"roveDB,omitempty"`    // how much lower than usual it played
	UntouchedDB float64     `json:"untouchedDB"`         // gain given to the untouched side
	ChangedDB   float64     `json:"changedDB"`           // gain given to the changed side
	ResidualLU  float64     `json:"residualLU"`          // loudness of changed − untouched, as played
}

// Answer is what the listener said, and how.
type Answer struct {
	Guess    dsp.Setting `json:"guess"`            // empty: nothing was changed
	Intent   dsp.Setting `json:"intent,omitempty"` // what was meant before the tool was touched
	TookS    float64     `json:"tookS"`            // from first sound to answer
	Switches int         `json:"switches"`
	SoloS    float64     `json:"soloS,omitempty"` // listened alone, of TookS
}

// Record is a trial that was answered. It is never altered.
type Record struct {
	At     time.Time `json:"at"`
	Trial  Trial     `json:"trial"`
	Answer Answer    `json:"answer"`
	Score  Score     `json:"score"`
}
