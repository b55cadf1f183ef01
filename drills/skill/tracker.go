package skill

import "math"

// Tracker decides how hard the next trial of one skill is, from nothing but
// the answers it was told, in order. UpDown, NDown, Quest, Trainer, Measurer
// and Fixed are trackers.
type Tracker interface {
	// Level of the next trial.
	Level() float64
	// Update is told of an answer at Level.
	Update(right bool)
}

var (
	_ Tracker = (*UpDown)(nil)
	_ Tracker = (*NDown)(nil)
	_ Tracker = (*Quest)(nil)
	_ Tracker = (*Trainer)(nil)
	_ Tracker = (*Measurer)(nil)
	_ Tracker = Fixed(0)
	_ Tracker = Scaled{}
)

// Fixed asks at one level for ever: the baseline that adapts nothing.
type Fixed float64

// Level is always the same.
func (f Fixed) Level() float64 { return float64(f) }

// Update changes nothing.
func (f Fixed) Update(bool) {}

// linearSpanDB is how many dB a ladder of differences counts for: about as
// many as one of four doublings. A choice of ours, no source.
const linearSpanDB = 24

// Scale maps the levels of a tool's ladder to dB above its floor, the axis of
// a posterior, and back.
type Scale struct {
	Min, Max float64 // ends of the ladder, Max easy; above 0 unless Linear
	Linear   bool    // equal differences are equal steps; otherwise equal ratios
}

// DB of a level: 20·log10(level/Min), where Linear 24 dB for the whole ladder.
func (s Scale) DB(level float64) float64 {
	if s.Linear {
		return linearSpanDB * (level - s.Min) / (s.Max - s.Min)
	}
	return 20 * math.Log10(level/s.Min)
}

// Level of a number of dB above the floor.
func (s Scale) Level(dB float64) float64 {
	if s.Linear {
		return s.Min + (s.Max-s.Min)*dB/linearSpanDB
	}
	return s.Min * math.Pow(10, dB/20)
}

// Grid is one for this ladder and m choices with chance 1/m: 41 levels, and
// thresholds from 6 dB below to 12 dB above the ladder, for the listener who
// is better than its floor or hears nothing at its ceiling. Ladders with as
// many dB and the same chance should share one.
func (s Scale) Grid(chance float64) *Grid {
	span := s.DB(s.Max)
	return NewGrid(WeibullDB(chance), Axes{
		Level:     Range(0, span, 41),
		Threshold: Range(-6, span+12, 1+int(math.Ceil((span+18)/1.25))),
		Slope:     defaultSlopes(),
		Lapse:     defaultLapses(),
	})
}

func defaultSlopes() []float64 { return []float64{1, 1.5, 2, 3, 4, 5} }
func defaultLapses() []float64 { return []float64{0, .02, .04, .07, .1} }

// Scaled is a tracker in dB, shown in the units of a tool's ladder.
type Scaled struct {
	Tracker
	Scale Scale
}

// Level of the next trial on the tool's ladder.
func (s Scaled) Level() float64 { return s.Scale.Level(s.Tracker.Level()) }
