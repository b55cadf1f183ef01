package stereo

import "strop/dsp"

var widthPct = dsp.Param{ID: "widthPct", Name: "width", Unit: "%", Min: 0, Max: 200, Neutral: 100}

// Width makes the stereo image narrower or wider: it changes the level of the
// side, (L−R)/2, and leaves the middle, (L+R)/2, alone.
//
//	widthPct  ratio of the side    0 mono, 200 twice the side; 100 does nothing, to the bit
//
// No latency. Source: common practice, no source.
var Width = dsp.Spec{
	ID:     "width",
	Name:   "stereo width",
	Doc:    "Narrows or widens the stereo image by the level of the side.",
	Source: "common practice, no source",
	Params: []dsp.Param{widthPct},
	Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) {
		return designWidth(s), nil
	},
	Matrix: func(_, _ float64, s dsp.Setting) [2][2]complex128 {
		w := designWidth(s)
		own, other := complex(w.own, 0), complex(w.other, 0)
		return [2][2]complex128{{own, other}, {other, own}}
	},
}

func designWidth(s dsp.Setting) width {
	w := s.Get(widthPct) / 100
	return width{own: (1 + w) / 2, other: (1 - w) / 2}
}

// width makes each channel of so much of itself and so much of the other.
type width struct{ own, other float64 }

var _ dsp.Processor = width{}

func (w width) Process(buf []dsp.Frame) {
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		buf[i] = dsp.Frame{w.own*l + w.other*r, w.own*r + w.other*l}
	}
}

func (w width) Reset() {}
