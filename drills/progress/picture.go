package progress

import (
	"fmt"
	"image/color"
	"io"
	"path/filepath"
	"strings"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"strop/drills/skill"
)

// Colours of the page, and of data: the first two of Okabe & Ito's, which
// colour-blind people can tell apart. Source: M. Okabe & K. Ito, Color
// Universal Design (2008). Shape and dash tell the series apart as well.
var (
	paper      = color.RGBA{0xfb, 0xf8, 0xf2, 0xff}
	ink        = color.RGBA{0x22, 0x20, 0x1c, 0xff}
	rule       = color.RGBA{0xc9, 0xbe, 0xab, 0xff}
	blue       = color.RGBA{0x00, 0x72, 0xb2, 0xff}
	vermillion = color.RGBA{0xd5, 0x5e, 0x00, 0xff}
)

// Measures of the page: one line of two plots for each result.
const (
	pageWidth  = 28 * vg.Centimeter
	lineHeight = 9 * vg.Centimeter
	margin     = 5 * vg.Millimeter
	pngDPI     = 150
)

// WritePicture draws error and bias, by day and by region, with their
// intervals: a line of plots for each result that has enough answers. name is
// a file name; it ends in .svg or .png. The error says what is missing where
// there is nothing to draw.
func WritePicture(w io.Writer, name string, p Progress) error {
	format := strings.ToLower(filepath.Ext(name))
	if format != ".svg" && format != ".png" {
		return fmt.Errorf("%s: a picture is .svg or .png", name)
	}
	var shown []Result
	for _, r := range p.Results {
		if r.Overall.Error != nil {
			shown = append(shown, r)
		}
	}
	if len(shown) == 0 {
		return fmt.Errorf("there is nothing to draw yet: %s needed", more(leastMissing(p)))
	}
	height := lineHeight * vg.Length(len(shown))
	var sheet vg.CanvasWriterTo = vgsvg.New(pageWidth, height)
	if format == ".png" {
		sheet = vgimg.PngCanvas{Canvas: vgimg.NewWith(
			vgimg.UseWH(pageWidth, height), vgimg.UseDPI(pngDPI), vgimg.UseBackgroundColor(paper))}
	}
	if err := drawPage(draw.New(sheet), shown); err != nil {
		return err
	}
	_, err := sheet.WriteTo(w)
	return err
}

func leastMissing(p Progress) int {
	least := Enough
	for _, r := range p.Results {
		if r.Known {
			least = min(least, r.Overall.Missing)
		}
	}
	return least
}

func drawPage(c draw.Canvas, results []Result) error {
	c.SetColor(paper)
	c.Fill(c.Rectangle.Path())
	tiles := draw.Tiles{Rows: len(results), Cols: 2, PadX: 2 * margin, PadY: 2 * margin,
		PadTop: margin, PadBottom: margin, PadLeft: margin, PadRight: margin}
	var plots [][]*plot.Plot
	for _, r := range results {
		days, err := dayPlot(r)
		if err != nil {
			return err
		}
		regions, err := regionPlot(r)
		if err != nil {
			return err
		}
		plots = append(plots, []*plot.Plot{days, regions})
	}
	canvases := plot.Align(plots, tiles, c)
	for i, line := range plots {
		for j, p := range line {
			p.Draw(canvases[i][j])
		}
	}
	return nil
}

// dayPlot has dates to scale: a week without practice is a gap.
func dayPlot(r Result) (*plot.Plot, error) {
	p := newPlot(r.Heading(), "by day; "+conditionInWords(r.Condition), r.Unit)
	var at []float64
	var ticks []plot.Tick
	var shown []Part
	for _, d := range r.Days {
		day, err := time.Parse(time.DateOnly, d.Name)
		if err != nil {
			return nil, err
		}
		if d.Error == nil {
			continue
		}
		x := float64(day.Unix()) / (24 * 60 * 60)
		at, shown = append(at, x), append(shown, d)
		ticks = append(ticks, plot.Tick{Value: x, Label: d.Name})
	}
	p.X.Tick.Marker = plot.ConstantTicks(thin(ticks, 6))
	if len(at) > 0 {
		p.X.Min, p.X.Max = at[0]-0.5, at[len(at)-1]+0.5
	}
	return p, addParts(p, at, shown, 0)
}

// thin leaves a label on at most n of the ticks.
func thin(ticks []plot.Tick, n int) []plot.Tick {
	every := (len(ticks) + n - 1) / n
	for i := range ticks {
		if i%every != 0 {
			ticks[i].Label = ""
		}
	}
	return ticks
}

// regionPlot has the key to both plots above it, where the other has its title.
func regionPlot(r Result) (*plot.Plot, error) {
	p := newPlot("", "by region", r.Unit)
	addKey(p)
	var at []float64
	var ticks []plot.Tick
	var shown []Part
	for i, region := range r.Regions {
		ticks = append(ticks, plot.Tick{Value: float64(i), Label: region.Name})
		if region.Error != nil {
			at, shown = append(at, float64(i)), append(shown, region)
		}
	}
	p.X.Tick.Marker = plot.ConstantTicks(ticks)
	p.X.Min, p.X.Max = -0.5, float64(len(r.Regions))-0.5
	return p, addParts(p, at, shown, 0.1)
}

// newPlot is empty, with a rule at 0.
func newPlot(title, xLabel, unit string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = paper
	p.Title.Text, p.X.Label.Text, p.Y.Label.Text = title, xLabel, "error and bias, "+unit
	p.Y.Min, p.Y.Max = 0, 0
	for _, style := range []*draw.TextStyle{&p.Title.TextStyle, &p.X.Label.TextStyle, &p.Y.Label.TextStyle,
		&p.X.Tick.Label, &p.Y.Tick.Label, &p.Legend.TextStyle} {
		style.Font = font.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Points(9)}
		style.Color = ink
	}
	p.Title.TextStyle.Font.Size = vg.Points(12)
	p.Title.Padding = margin
	for _, axis := range []*plot.Axis{&p.X, &p.Y} {
		axis.Color, axis.Tick.Color = ink, ink
		axis.Padding = 2 * vg.Millimeter
	}
	grid := plotter.NewGrid()
	grid.Vertical.Color = nil
	grid.Horizontal = draw.LineStyle{Color: rule, Width: vg.Points(0.4)}
	zero := plotter.NewFunction(func(float64) float64 { return 0 })
	zero.LineStyle = draw.LineStyle{Color: ink, Width: vg.Points(0.6)}
	zero.Samples = 2
	p.Add(grid, zero)
	p.Legend.Top, p.Legend.Left = true, true
	p.Legend.YOffs = 12 * vg.Millimeter
	p.Legend.ThumbnailWidth = 12 * vg.Millimeter
	p.Legend.Padding = vg.Millimeter
	return p
}

// series is one row of points with their intervals.
type series struct {
	name  string
	line  draw.LineStyle
	glyph draw.GlyphStyle
	side  float64 // of its place where parts are not joined
	of    func(*Error) skill.Mean
}

func bothSeries() [2]series {
	return [2]series{
		{"error", draw.LineStyle{Color: blue, Width: vg.Points(1.2)},
			draw.GlyphStyle{Color: blue, Radius: vg.Points(3), Shape: draw.CircleGlyph{}},
			-1, func(e *Error) skill.Mean { return e.Size }},
		{"bias: + high, − low", draw.LineStyle{Color: vermillion, Width: vg.Points(1.2), Dashes: []vg.Length{vg.Points(4), vg.Points(3)}},
			draw.GlyphStyle{Color: vermillion, Radius: vg.Points(3), Shape: draw.PyramidGlyph{}},
			1, func(e *Error) skill.Mean { return e.Bias }},
	}
}

func addKey(p *plot.Plot) {
	for _, s := range bothSeries() {
		p.Legend.Add(s.name, &plotter.Line{LineStyle: s.line}, &plotter.Scatter{GlyphStyle: s.glyph})
	}
}

// addParts draws both series of parts at their places: apart to either side,
// or, where apart is 0, joined by lines.
func addParts(p *plot.Plot, at []float64, parts []Part, apart float64) error {
	if len(parts) == 0 {
		return nil
	}
	for _, s := range bothSeries() {
		if err := s.add(p, at, parts, apart); err != nil {
			return err
		}
	}
	return nil
}

// meanPoints is what gonum/plot draws: places, means, and the distances from
// there to the ends of the intervals.
type meanPoints struct {
	plotter.XYs
	plotter.YErrors
}

func (s series) add(p *plot.Plot, at []float64, parts []Part, apart float64) error {
	var points meanPoints
	for i, part := range parts {
		m := s.of(part.Error)
		points.XYs = append(points.XYs, plotter.XY{X: at[i] + s.side*apart, Y: m.Mean})
		points.YErrors = append(points.YErrors, struct{ Low, High float64 }{m.Mean - m.Interval.Lo, m.Interval.Hi - m.Mean})
	}
	bars, err := plotter.NewYErrorBars(points)
	if err != nil {
		return err
	}
	bars.LineStyle = draw.LineStyle{Color: s.line.Color, Width: vg.Points(0.8)}
	line, marks, err := plotter.NewLinePoints(points.XYs)
	if err != nil {
		return err
	}
	line.LineStyle, marks.GlyphStyle = s.line, s.glyph
	p.Add(bars, marks)
	if apart == 0 {
		p.Add(line)
	}
	return nil
}
