package scene

import (
	"context"
	"time"

	"strop/drills"
	"strop/dsp"
)

// World is everything the screens need from outside, each part through an
// interface that stands beside the screen that uses it.
type World struct {
	Clock   drills.Clock
	Where   *time.Location // of the dates that are shown
	Find    func(id string) (drills.Tool, error)
	Tools   []drills.Tool // all of them, in the order in which they are offered
	History History
	Library Library
	Drills  Drills
	Sound   Sound
	Noise   Noise
	Cards   Cards
	Folders Folders
	Rescue  Rescue
	Wish    Wish     // what is practised, as far as it was said when the program was started
	Sources []Source // of the built-in songs
	Open    string   // a file or a built-in piece to begin with; "": the one used last
}

// History is what is remembered: answers, and settings of the program.
type History interface {
	Records(ctx context.Context, tool string) ([]drills.Record, error)
	Get(ctx context.Context, key string) (value string, ok bool, err error)
	Put(ctx context.Context, key, value string) error
}

// Wish is what a listener asks of a sitting.
type Wish struct {
	Tool      string // the drill's ID; "": the plan of the day
	Rung      string // how to answer; "": the hardest that is open
	Condition drills.Condition
	Trials    int
	Minutes   int // of the plan of the day, where no drill is named
	Seed      uint64
}

// Drills lays sittings out.
type Drills interface {
	// Stand is where the records say that the listener stands.
	Stand(ctx context.Context, w Wish) (Standing, error)
	// Plan is what is due today, where no drill is named.
	Plan(ctx context.Context, w Wish) (Plan, error)
	// Skills are what is known of each skill, in words, and how predictions
	// have held.
	Skills(ctx context.Context) ([]Skill, []Foretold, error)
	// Sit lays out a sitting on loops, from there.
	Sit(ctx context.Context, loops drills.Clips, w Wish) (Sitting, error)
}

// Standing is a way to answer, and the level of the next trial on it.
type Standing struct {
	Tool  drills.Tool
	Rung  drills.Rung
	Level float64
}

// Plan is the practice of a day, block by block.
type Plan struct {
	Blocks []Block
	Advice string // one sentence, or ""
}

// Block is one drill for some minutes, and why.
type Block struct {
	Title   string // "EQ band, five bands"
	Minutes int
	Reason  string
	Break   bool // rest after it
}

// Skill is what is known of one skill, in words.
type Skill struct {
	Title     string // "EQ band, 1 kHz"
	Condition string
	Answers   string // "14 of 18"
	Threshold string // "2.1 (1.6 to 2.9) dB"
	Trend     string // "no real change yet"
	Confused  string // "2 kHz 3 times"
	Bias      string // "0.42 (0.31 to 0.53) oct high"
	Kept      string // "5 of 6 after up to 10 days"
	Due       bool   // a review is
}

// Foretold is the answers whose chance of being right was foretold alike.
type Foretold struct {
	Share         float64 // foretold, mean
	Right, Lo, Hi float64 // the share that was, and its interval
	Answers       int
}

// Sitting is a session, and where in the drill it starts.
type Sitting struct {
	Standing
	Session Session
	Trials  int // how many are asked
}

// Session asks and grades.
type Session interface {
	Next(ctx context.Context) (*drills.Round, error)
	Read(text string) (dsp.Setting, error)
	Try(guess dsp.Setting) (whole, solo []dsp.Frame, err error)
	Answer(ctx context.Context, g drills.Given) (*drills.Outcome, error)
	Records() []drills.Record
}

var _ Session = (*drills.Session)(nil)
