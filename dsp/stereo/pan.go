package stereo

import (
	"math"

	"strop/dsp"
)

var (
	panPosition = dsp.Param{ID: "positionPct", Name: "position", Unit: "%", Min: -100, Max: 100, Neutral: 0}
	panLaw      = dsp.Param{ID: "centreDB", Name: "pan law, level in the centre", Unit: "dB", Min: -6, Max: -3, Neutral: -3, Step: 1.5}
)

// Pan moves a source that is the same in both channels; of a stereo source it
// changes the balance. Nothing crosses from one channel to the other.
//
//	positionPct  −100 left, 100 right                    −100 to 100 %; 0 does nothing, to the bit
//	centreDB     pan law: what the centre lies below a side   −3 sin/cos, −4.5, −6 linear
//
// The gains are those of PanGains, raised by what the law takes in the centre,
// so that the law is heard at the sides: a source that is panned hard is 3.01,
// 4.52 or 6.02 dB higher there than it was. No latency.
//
// Source: common practice, no source.
var Pan = dsp.Spec{
	ID:     "pan",
	Name:   "pan",
	Doc:    "Moves a source between left and right.",
	Source: "common practice, no source",
	Params: []dsp.Param{panPosition, panLaw},
	Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) {
		return designPan(s), nil
	},
	Matrix: func(_, _ float64, s dsp.Setting) [2][2]complex128 { return designPan(s).matrix() },
}

func designPan(s dsp.Setting) gains {
	if s.Get(panPosition) == 0 {
		return gains{1, 1} // to the bit
	}
	left, right := PanGains(s.Get(panPosition), s.Get(panLaw))
	centre, _ := PanGains(0, s.Get(panLaw))
	return gains{left / centre, right / centre}
}

// PanGains are the ratios by which a mono source goes to each side: with p from
// 0, left, to 1, right,
//
//	−3    sin/cos: cos(p·π/2) and sin(p·π/2), equal power
//	−6    linear: 1−p and p, equal sum
//	−4.5  the geometric mean of the two
//
// and NaN for a law that is none of these.
func PanGains(positionPct, centreDB float64) (left, right float64) {
	p := (positionPct + 100) / 200
	sin, cos := math.Sincos(p * math.Pi / 2)
	switch centreDB {
	case -3:
		return cos, sin
	case -4.5:
		return math.Sqrt(cos * (1 - p)), math.Sqrt(sin * p)
	case -6:
		return 1 - p, p
	}
	return math.NaN(), math.NaN()
}

// AngleDeg is the direction in which a source is heard that is left and right
// of these ratios in two loudspeakers at ±30°, positive to the right:
//
//	tan(angle)/tan(30°) = (right − left)/(right + left)
//
// Source: the tangent law, V. Pulkki, Virtual sound source positioning using
// vector base amplitude panning, JAES 45(6) (1997), eq. 2 (from memory).
func AngleDeg(left, right float64) float64 {
	const deg = math.Pi / 180
	return math.Atan(math.Tan(30*deg)*(right-left)/(right+left)) / deg
}

// gains is the Processor that multiplies each channel by its own ratio.
type gains struct{ left, right float64 }

var _ dsp.Processor = gains{}

func (g gains) Process(buf []dsp.Frame) {
	for i := range buf {
		buf[i][0] *= g.left
		buf[i][1] *= g.right
	}
}

func (g gains) Reset() {}

func (g gains) matrix() [2][2]complex128 {
	return [2][2]complex128{{complex(g.left, 0), 0}, {0, complex(g.right, 0)}}
}
