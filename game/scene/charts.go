package scene

import (
	"math"
	"strconv"
	"time"

	"strop/drills/progress"
	"strop/game/ui"
)

// roundStep is the least of 1, 2 and 5 times a power of ten that rules a span
// with no more than so many labels.
func roundStep(span float64, labels int) float64 {
	least := span / float64(labels)
	power := math.Pow(10, math.Floor(math.Log10(least)))
	for _, f := range [...]float64{1, 2, 5} {
		if f*power >= least*(1-1e-9) {
			return f * power
		}
	}
	return 10 * power
}

// zeroScale goes from 0 to a round value at or above most.
func zeroScale(most float64) ui.Scale {
	step := roundStep(max(most, 0.1), 4)
	s := ui.Scale{Min: 0, Max: step * math.Ceil(most/step*(1-1e-9))}
	return ruled(s, step)
}

// spanScale holds everything from lo to hi, and 0.
func spanScale(lo, hi float64) ui.Scale {
	lo, hi = min(lo, 0), max(hi, 0)
	step := roundStep(max(hi-lo, 0.1), 4)
	return ruled(ui.Scale{Min: step * math.Floor(lo/step), Max: step * math.Ceil(max(hi, 0.1)/step)}, step)
}

func ruled(s ui.Scale, step float64) ui.Scale {
	decimals := max(0, int(-math.Floor(math.Log10(step))))
	for i := math.Round(s.Min / step); i*step <= s.Max*(1+1e-9); i++ {
		label := strconv.FormatFloat(math.Abs(i*step), 'f', decimals, 64)
		if i < 0 {
			label = "−" + label
		}
		s.Ticks = append(s.Ticks, ui.Tick{Value: i * step, Label: label})
	}
	return s
}

// dayChart is the error by day, to scale: a week without practice is a gap.
func dayChart(r progress.Result) ui.Item {
	s := ui.Series{Label: "error", Ink: ui.Data1, Mark: ui.Dot}
	most := 0.0
	for _, d := range r.Days {
		at, err := time.Parse(time.DateOnly, d.Name)
		if err != nil || d.Error == nil {
			continue
		}
		p := point(float64(at.Unix())/86400, d.Error.Size.Mean, d.Error.Size.Interval.Lo, d.Error.Size.Interval.Hi)
		p.Text = d.Name + ": " + progress.MeanText(d.Error.Size, r.Unit)
		most = max(most, p.Hi)
		s.Points = append(s.Points, p)
	}
	if len(s.Points) == 0 {
		return tooFew("By day: a day shows here once it has enough answers.")
	}
	return ui.Chart{
		Label: "by day", X: ui.Axis{Label: "day", Scale: dayScale(s.Points)},
		Y: ui.Axis{Label: "off by, " + r.Unit, Scale: zeroScale(most)}, Series: []ui.Series{s},
	}
}

func tooFew(text string) ui.Item { return ui.Column{Items: []ui.Item{ui.Note{Text: text}}} }

func point(x, y, lo, hi float64) ui.ChartPoint {
	return ui.ChartPoint{X: x, Y: y, Lo: max(lo, 0), Hi: hi}
}

func dayScale(points []ui.ChartPoint) ui.Scale {
	first, last := points[0].X, points[len(points)-1].X
	s := ui.Scale{Min: first - 1, Max: max(last, first+5) + 1}
	every := max(1, math.Round((s.Max-s.Min)/5))
	for at := first; at < s.Max; at++ {
		tick := ui.Tick{Value: at}
		if math.Mod(at-first, every) == 0 {
			tick.Label = time.Unix(int64(at*86400), 0).UTC().Format("2 Jan")
		}
		if len(s.Ticks) < 60 || tick.Label != "" {
			s.Ticks = append(s.Ticks, tick)
		}
	}
	return s
}

// regionChart is error and bias from the low end to the high.
func regionChart(r progress.Result) ui.Item {
	size := ui.Series{Label: "off by", Ink: ui.Data1, Mark: ui.Dot}
	bias := ui.Series{Label: "bias: + high, − low", Ink: ui.Data2, Mark: ui.Square, Dash: ui.Dashed}
	scale := ui.Scale{Min: 0.5, Max: float64(max(len(r.Regions), 2)) + 0.5}
	lo, hi := 0.0, 0.0
	for i, part := range r.Regions {
		x := float64(i + 1)
		scale.Ticks = append(scale.Ticks, ui.Tick{Value: x, Label: part.Name})
		if part.Error == nil {
			continue
		}
		s, b := part.Error.Size, part.Error.Bias
		p := point(x-0.05, s.Mean, s.Interval.Lo, s.Interval.Hi)
		p.Text = part.Name + ": " + progress.MeanText(s, r.Unit)
		q := ui.ChartPoint{X: x + 0.05, Y: b.Mean, Lo: b.Interval.Lo, Hi: b.Interval.Hi, Text: part.Name + ": " + progress.BiasText(b, r.Unit)}
		size.Points, bias.Points = append(size.Points, p), append(bias.Points, q)
		lo, hi = min(lo, q.Lo), max(hi, p.Hi, q.Hi)
	}
	if len(size.Points) == 0 {
		return tooFew("By region: a region shows here once it has enough answers.")
	}
	return ui.Chart{
		Label: "by region", X: ui.Axis{Label: "region", Scale: scale},
		Y: ui.Axis{Label: r.Unit, Scale: spanScale(lo, hi)}, Series: []ui.Series{size, bias},
	}
}
