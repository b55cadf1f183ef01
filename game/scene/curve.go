package scene

import (
	"fmt"
	"math"
	"math/cmplx"
	"time"

	"strop/drills"
	"strop/dsp"
	"strop/game/ui"
)

// told is what is drawn of a truth.
type told struct {
	truth, mine []ui.Point // responses in dB over the ruler; nil where the answer is no frequency
	pictures    *pictures  // of the sound; nil where the surface itself shows what was done
	began       time.Time  // when the curve set out
	part        float64    // of its way, 0 to 1
}

// tell measures what the truth and the answer do: to a spectrum where that is
// what was asked, and else to the sound.
func tell(round *drills.Round, o *drills.Outcome) told {
	switch surface := round.Rung.Surface; {
	case surface == drills.Arc:
		return told{}
	case surface == drills.Ruler && round.Tool.Params[0].Unit == "Hz":
		return told{truth: curve(round, round.Trial.Truth), mine: curve(round, o.Record.Answer.Guess)}
	}
	return told{pictures: picture(round, o)}
}

const (
	curvePoints   = 181
	impulseFrames = 1 << 13 // 170 ms at 48 kHz: the longest of the filters has died away
)

// curve is the response of what a setting puts in the way of the sound,
// measured: the spectrum of what it makes of a single 1. nil where it cannot
// be built.
func curve(round *drills.Round, s dsp.Setting) []ui.Point {
	inserts, err := round.Tool.Change(round.Clip, round.Trial.Stem, s)
	if err != nil {
		return nil
	}
	h := make([]dsp.Frame, impulseFrames)
	h[0] = dsp.Frame{1, 1}
	for _, in := range inserts {
		in.Processor.Process(h)
	}
	param, rateHz := round.Tool.Params[0], round.Trial.Loop.RateHz
	points := make([]ui.Point, 0, curvePoints)
	for i := range curvePoints {
		hz := param.At(float64(i) / (curvePoints - 1))
		if hz >= rateHz/2 {
			break
		}
		points = append(points, ui.Point{X: hz, Y: dsp.ToDB(cmplx.Abs(spectrum(h, 2*math.Pi*hz/rateHz)))})
	}
	return points
}

// spectrum is the Fourier transform of the left channel at one frequency, in
// radians per frame, by Horner's rule from the last frame.
func spectrum(h []dsp.Frame, omega float64) (sum complex128) {
	turn := cmplx.Rect(1, -omega)
	for i := len(h) - 1; i >= 0; i-- {
		sum = sum*turn + complex(h[i][0], 0)
	}
	return sum
}

// gainScale is as tall as the curves need, in steps of 6 dB.
func gainScale(curves ...[]ui.Point) ui.Scale {
	most := 5.0
	for _, c := range curves {
		for _, q := range c {
			most = max(most, math.Abs(q.Y))
		}
	}
	top := 6 * math.Ceil(most/6)
	s := ui.Scale{Min: -top - 2, Max: top + 2}
	for db := -top; db <= top; db += 6 {
		s.Ticks = append(s.Ticks, ui.Tick{Value: db, Label: decibelTick(db)})
	}
	return s
}

func decibelTick(db float64) string {
	switch {
	case db > 0:
		return fmt.Sprintf("+%.0f dB", db)
	case db < 0:
		return fmt.Sprintf("−%.0f dB", -db)
	}
	return "0 dB"
}
