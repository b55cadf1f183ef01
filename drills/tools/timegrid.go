package tools

import (
	"errors"
	"math"

	"strop/drills"
	"strop/dsp"
)

// timeGrid asks whether a stem is early or late against a click on the beats of
// the loop, which is heard on both sides, and by how much.
func timeGrid() drills.Tool {
	const against = "early or late against the click"
	t := outOfTime.amount(drills.Tool{
		ID: "time-grid", Title: "Early or late against the grid", Confusable: []string{"time-ms"},
		Doc: "Hear whether one stem is early or late against a click on the beats, and by how much; an electronic arrangement forgives less than a band.",
		Cue: "a click on the beats",
	}, against, against)
	ask, change := t.Ask, t.Change
	t.Ask = func(d drills.Draw) (dsp.Setting, error) {
		if _, err := newClick(d.Clip); err != nil {
			return nil, err
		}
		return ask(d)
	}
	t.Change = func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
		click, err := newClick(c)
		if err != nil {
			return nil, err
		}
		inserts, err := change(c, on, s)
		return append(inserts, drills.Insert{Processor: click}), err
	}
	return t
}

// A click is a tone that dies away, its peak so far over the loudness of the
// loop. Common practice, no source.
const (
	clickHz     = 1500.0
	clickDecayS = 0.004 // to 1/e
	clickS      = 0.03
	clickOverLU = 12.0
)

// click adds a click on each beat to a loop, from its first frame on. No
// latency.
type click struct {
	sound        []float64
	first, every float64 // frames
	at           int     // frames since Reset
}

var (
	_ dsp.Processor = (*click)(nil)
	_ dsp.Settler   = (*click)(nil)
)

// newClick is the click of a loop whose beats are known.
func newClick(c drills.Clip) (*click, error) {
	if !(c.Beats.TempoBPM >= 40 && c.Beats.TempoBPM <= 240) {
		return nil, errors.New("the loop has no beats that are known")
	}
	rateHz := c.Loop.RateHz
	every := 60 / c.Beats.TempoBPM * rateHz
	k := &click{first: math.Mod(c.Beats.FirstS*rateHz, every), every: every, sound: make([]float64, int(clickS*rateHz))}
	peak := dsp.FromDB(min(c.Facts.LoudnessLUFS+clickOverLU, -6))
	for i := range k.sound {
		s := float64(i) / rateHz
		k.sound[i] = peak * math.Sin(2*math.Pi*clickHz*s) * math.Exp(-s/clickDecayS)
	}
	return k, nil
}

// Process adds what of the clicks lies in buf.
func (k *click) Process(buf []dsp.Frame) {
	last := (float64(k.at+len(buf)) - k.first) / k.every
	for beat := math.Floor((float64(k.at-len(k.sound)) - k.first) / k.every); beat <= last; beat++ {
		from := int(math.Round(k.first+beat*k.every)) - k.at
		for i := max(0, -from); i < len(k.sound) && from+i < len(buf); i++ {
			buf[from+i][0] += k.sound[i]
			buf[from+i][1] += k.sound[i]
		}
	}
	k.at += len(buf)
}

// Reset begins the loop anew.
func (k *click) Reset() { k.at = 0 }

// SettleFrames is 0: the first frame is that of the loop.
func (*click) SettleFrames() int { return 0 }
