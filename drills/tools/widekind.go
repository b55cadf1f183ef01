package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/stereo"
)

var (
	wideKindNumber = dsp.Param{ID: "kind", Name: "kind of width", Min: 1, Max: 3, Neutral: 1, Scale: dsp.Whole}
	wideSide       = dsp.Param{ID: "sideDB", Name: "side over middle", Unit: "dB", Min: -9, Max: 0, Neutral: -3}
)

// What makes a sound wide. Numbers are kept in records: new ones come last.
var wideKinds = []struct {
	name string
	make func(w wide, rateHz, ratio float64) (dsp.Processor, error)
}{
	{"as it was recorded", ownSides},
	{"a delayed copy", delayedCopy},
	{"an all-passed copy", allPassedCopy},
}

// wideKind asks what makes a sound wide: two channels that were recorded, or a
// trick that makes two of one. All have as much side over the middle.
//
// The ladder is that side. Tricks by a delayed copy, added to one channel and
// taken from the other: H. Lauridsen (1954); by all-passes: M. R. Schroeder, An
// artificial stereophonic effect obtained from a single audio signal, JAES 6
// (1958) (both from memory). How little of it is told: common practice, no
// source.
func wideKind() drills.Tool {
	answer := cards{params: []dsp.Param{wideKindNumber}, say: func(s dsp.Setting) string {
		return wideKinds[int(s.Get(wideKindNumber))-1].name
	}}
	return drills.Tool{
		ID: "wide-kind", Title: "Wide by trick or by nature", Type: "phase",
		Doc:        "Hear whether a width was recorded or made of one channel, and how.",
		Source:     "common practice, no source: down to a side 9 dB under the middle",
		Confusable: []string{"correlation", "width-stem", "mono-fold"},
		Error:      wrong, Unit: "of 1",
		Level: wideSide, OwnLadder: true, Floor: drills.OfKinds,
		Rungs: []drills.Rung{
			{ID: "two", Title: "trick or nature", Surface: drills.Cards, Choices: wideChoices(1, 2)},
			{ID: "three", Title: "which trick, or none", Surface: drills.Cards, Choices: wideChoices(1, 2, 3)},
		},
		Params: []dsp.Param{wideKindNumber, wideSide},
		Fit:    drills.Fit{Stems: true, LeastSideDB: leastSideDB},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			_, err := wideOf(d.Clip, d.On)
			c := d.Rung.Choices[d.R.IntN(len(d.Rung.Choices))]
			return dsp.Setting{wideKindNumber.ID: c.Guess.Get(wideKindNumber), wideSide.ID: d.Level}, err
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			w, err := wideOf(c, on)
			if err != nil {
				return nil, err
			}
			p, err := wideKinds[int(s.Get(wideKindNumber))-1].make(w, c.Loop.RateHz, dsp.FromDB(s.Get(wideSide)))
			return w.insert(p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			if w, err := wideOf(d.Clip, d.On); err == nil {
				return "What makes " + w.name + " wide now?"
			}
			return "What makes it wide now?"
		},
		Read: answer.Read, Grade: answer.Grade, Tell: answer.Tell, Region: anywhere,
	}
}

func wideChoices(numbers ...int) (choices []drills.Choice) {
	for _, n := range numbers {
		choices = append(choices, drills.Choice{Label: wideKinds[n-1].name, Guess: dsp.Setting{wideKindNumber.ID: float64(n)}})
	}
	return choices
}

// ownSides turns the side that was recorded.
func ownSides(w wide, _, ratio float64) (dsp.Processor, error) {
	p := w.powers()
	return sides(ratio * math.Sqrt(p.mid/p.side)), nil
}

const (
	copyMS     = 12.0 // delay of the copy: under what is heard as an echo. Common practice, no source
	copyHz     = 600.0
	copyStages = 3
)

func delayedCopy(_ wide, rateHz, ratio float64) (dsp.Processor, error) {
	p, err := stereo.Delay.New(rateHz, dsp.Setting{"delayMS": copyMS, "left": 0, "right": 1})
	return &trick{copies: dsp.Chain{p}, ratio: ratio}, err
}

func allPassedCopy(_ wide, rateHz, ratio float64) (dsp.Processor, error) {
	p, err := stereo.AllPass.New(rateHz, dsp.Setting{"freqHz": copyHz, "q": 0.5, "stages": copyStages})
	return &trick{copies: dsp.Chain{rightOnly{p, new([256]dsp.Frame)}}, ratio: ratio}, err
}

// trick makes two channels of the middle: a copy is added to the left and taken
// from the right, and mono is as it was. copies takes the middle on both sides,
// and leaves it on the left.
//
//	left = m + ratio·copy,  right = m − ratio·copy
type trick struct {
	copies dsp.Chain
	ratio  float64
}

var (
	_ dsp.Processor = (*trick)(nil)
	_ dsp.Delayer   = (*trick)(nil)
)

// Process folds, copies and spreads.
func (t *trick) Process(buf []dsp.Frame) {
	for i, f := range buf {
		m := (f[0] + f[1]) / 2
		buf[i] = dsp.Frame{m, m}
	}
	t.copies.Process(buf)
	for i, f := range buf {
		s := t.ratio * f[1]
		buf[i] = dsp.Frame{f[0] + s, f[0] - s}
	}
}

// Reset forgets the copies.
func (t *trick) Reset() { t.copies.Reset() }

// DelayFrames is the lag of the middle.
func (t *trick) DelayFrames() int { return t.copies.DelayFrames() }

// rightOnly lets a processor without a lag have the right channel; the left
// passes.
type rightOnly struct {
	p    dsp.Processor
	left *[256]dsp.Frame
}

var _ dsp.Processor = rightOnly{}

// Process keeps the left channel block by block.
func (r rightOnly) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		block := buf[:min(len(buf), len(r.left))]
		copy(r.left[:], block)
		r.p.Process(block)
		for i := range block {
			block[i][0] = r.left[i][0]
		}
		buf = buf[len(block):]
	}
}

// Reset is that of the processor.
func (r rightOnly) Reset() { r.p.Reset() }
