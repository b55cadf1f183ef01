package fault

import (
	"math"

	"strop/dsp"
)

var (
	dropsPerS  = dsp.Param{ID: "perS", Name: "dropouts a second", Min: 0, Max: 4, Neutral: 0}
	dropLength = dsp.Param{ID: "lengthMS", Name: "length", Unit: "ms", Min: 1, Max: 100, Neutral: 20}
	dropEdge   = dsp.Param{ID: "edgeMS", Name: "edges", Unit: "ms", Min: 0, Max: 2, Neutral: 0}
)

// dropRestS is between two dropouts, at least.
const dropRestS = 0.050

// Dropout loses all sound for moments, as where packets or samples are lost.
//
//	perS      dropouts a second in the mean, at random moments       0 to 4; 0 is none
//	lengthMS  of each, edges included                                1 to 100 ms
//	edgeMS    in which it fades out, and in; 0 is at once             0 to 2 ms, no
//	          more than half of the length
//	seed      draws the moments                                      0 to 1048576
//
// Between the edges, raised cosines, both channels are exactly 0. Two are 50 ms
// apart at least. Their size is −∞ dB. No latency.
// Source: common practice, no source.
var Dropout = dsp.Spec{
	ID:     "dropout",
	Name:   "dropout",
	Doc:    "Loses all sound for moments, as where packets or samples are lost.",
	Source: "common practice, no source",
	Params: []dsp.Param{dropsPerS, dropLength, dropEdge, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		frames := math.Round(s.Get(dropLength) * rateHz / 1000)
		edge := min(math.Round(s.Get(dropEdge)*rateHz/1000), math.Floor(frames/2))
		d := &dropper{
			frames:    int(frames),
			fade:      fade(int(edge)),
			occasions: newOccasions(rateHz, s.Get(dropsPerS), frames+dropRestS*rateHz, s, 7),
			placeLog:  newPlaceLog(),
		}
		d.Reset()
		return d, nil
	},
}

// fade is a raised cosine from 1 to 0, its ends left out.
func fade(n int) []float64 {
	f := make([]float64, n)
	for i := range f {
		f[i] = 0.5 + 0.5*math.Cos(math.Pi*float64(i+1)/float64(n+1))
	}
	return f
}

type dropper struct {
	frames int // of a dropout
	fade   []float64
	occasions
	placeLog
	count int // frames since Reset
	at    int // frames of a dropout that are over; frames: there is none
}

var (
	_ dsp.Processor = (*dropper)(nil)
	_ Reporter      = (*dropper)(nil)
)

// Reset begins the moments anew.
func (d *dropper) Reset() {
	d.reset()
	d.clear()
	d.count, d.at = 0, d.frames
}

// Process silences buf in place.
func (d *dropper) Process(buf []dsp.Frame) {
	if d.never {
		return
	}
	for i := range buf {
		if d.left == 0 {
			d.at = 0
			d.add(Place{Frame: d.count + i, Frames: d.frames, SizeDB: math.Inf(-1)})
			d.draw()
		}
		d.left--
		if d.at == d.frames {
			continue
		}
		if edge := min(d.at, d.frames-1-d.at); edge < len(d.fade) {
			buf[i][0] *= d.fade[edge]
			buf[i][1] *= d.fade[edge]
		} else {
			buf[i] = dsp.Frame{}
		}
		d.at++
	}
	d.count += len(buf)
}
