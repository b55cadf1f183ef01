package scene

import (
	"math"
	"strconv"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
	"strop/game/ui"
)

// pictures are what the truth and the answer do to the sound, measured: by how
// much each band of it is louder than untouched, and each moment. Where a stem
// is what the trial is about, they are of the stem alone.
type pictures struct {
	bands, moments both
	lengthS        float64
	mine           string // what the answer's curve shows
}

// both are the curves of one picture, in dB.
type both struct{ truth, mine []ui.Point }

// momentS is about how long one of the moments is: that of a short note.
// Common practice, no source.
const momentS = 0.03

// picture measures an answered trial.
func picture(round *drills.Round, o *drills.Outcome) *pictures {
	untouched, changed, mine := round.Untouched, round.Changed, o.Mine
	if o.MineSolo != nil {
		untouched, changed, mine = round.Solo[0], round.Solo[1], o.MineSolo
	}
	p := &pictures{lengthS: float64(round.Trial.Loop.Frames) / round.Trial.Loop.RateHz, mine: "mine"}
	if round.Tool.Mend != nil {
		p.mine = "mine leaves"
	}
	rateHz := round.Trial.Loop.RateHz
	p.bands = both{bandPoints(untouched, changed, rateHz), bandPoints(untouched, mine, rateHz)}
	p.moments = both{momentPoints(untouched, changed, p.lengthS), momentPoints(untouched, mine, p.lengthS)}
	return p
}

func bandPoints(before, after []dsp.Frame, rateHz float64) (points []ui.Point) {
	for i, db := range measure.BandChangesDB(before, after, rateHz) {
		if hz := dsp.ThirdOctaveHz(i); hz < rateHz/2 {
			points = append(points, shown(hz, db))
		}
	}
	return points
}

func momentPoints(before, after []dsp.Frame, lengthS float64) (points []ui.Point) {
	n := max(1, int(lengthS/momentS))
	for i, db := range measure.LevelChangesDB(before, after, n) {
		points = append(points, shown((float64(i)+0.5)/float64(n)*lengthS, db))
	}
	return points
}

// under adds both pictures, side by side, to what was told.
func (p *pictures) under(it ui.Item) ui.Item {
	if p == nil {
		return it
	}
	hz := ui.Scale{Min: 20, Max: 20000, Log: true, Ticks: ui.LogTicks(20, 20000, short)}
	s := ui.Scale{Max: p.lengthS, Ticks: ui.LinearTicks(0, p.lengthS, short)}
	return ui.Column{Items: []ui.Item{it, ui.Grow{Item: ui.Row{Stretch: true, Items: []ui.Item{
		ui.Grow{Item: p.drawn("level over untouched, by frequency in Hz", hz, p.bands, dsp.FormatHz)},
		ui.Grow{Item: p.drawn("level over untouched, along the loop in s", s, p.moments, seconds)},
	}}}}}
}

func (p *pictures) drawn(label string, x ui.Scale, c both, at func(float64) string) ui.Item {
	return ui.Ruler{
		ID: "picture", Label: label, Scale: x, Y: gainScale(c.truth, c.mine), Off: true,
		Curves: []ui.Curve{
			{Label: "truth" + most(c.truth, at), Points: c.truth, Ink: ui.Data1, Mark: ui.Dot},
			{Label: p.mine + most(c.mine, at), Points: c.mine, Ink: ui.Data2, Mark: ui.Square, Dash: ui.Dashed},
		},
	}
}

// most says where a curve is farthest from 0: ": +6.0 dB at 2.5 kHz".
func most(points []ui.Point, at func(float64) string) string {
	far := ui.Point{}
	for _, q := range points {
		if math.Abs(q.Y) > math.Abs(far.Y) {
			far = q
		}
	}
	if math.Abs(far.Y) < 0.05 {
		return ": none"
	}
	return ": " + dsp.FormatDB(far.Y) + " at " + at(far.X)
}

func seconds(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) + " s" }

// mostShownDB is how far a change is followed: what is more is a sound that
// came or went.
const mostShownDB = 24.0

func shown(x, db float64) ui.Point { return ui.Point{X: x, Y: max(-mostShownDB, min(mostShownDB, db))} }
