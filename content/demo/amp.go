package demo

import (
	"math"
	"slices"

	"strop/dsp"
	"strop/dsp/eq"
	"strop/dsp/kaiser"
)

// ampScore is an amplifier and its loudspeaker, fed by another source.
//
//	of     the source
//	drive  gain before the valves, in dB          24
//	bias   of the first valve: even harmonics     0.15
//	cab    where the loudspeaker ends, in Hz      4800
//	deep   where it begins                        80
type ampScore struct {
	of                           string
	driveDB, bias, cabHz, deepHz float64
}

var plainAmp = ampScore{driveDB: 24, bias: 0.15, cabHz: 4800, deepHz: 80}

func (a *ampScore) fields(f fields) {
	f.words["of"] = &a.of
	f.figures["drive"], f.figures["bias"] = &a.driveDB, &a.bias
	f.figures["cab"], f.figures["deep"] = &a.cabHz, &a.deepHz
}

// play gives what the loudspeaker makes of in, which has a peak of 1: two
// stages at four times the rate, so that what folds back lies below the
// loudspeaker's end.
func (a ampScore) play(in []float64) []float64 {
	tight := slices.Clone(in)
	filter(tight, eq.CookbookHighPass(rateHz, a.deepHz*1.4, math.Sqrt2/2))
	out := drive(tight, dsp.FromDB(a.driveDB), a.bias)
	filter(out, eq.CookbookHighPass(rateHz, a.deepHz, 0.9))
	filter(out, eq.CookbookPeak(rateHz, 450, -4, 0.8))
	filter(out, eq.CookbookPeak(rateHz, 0.52*a.cabHz, 5, 1.3))
	for _, c := range eq.ButterworthLowPass(rateHz, a.cabHz, 4) {
		filter(out, c)
	}
	return out
}

// filter runs a section over x in place.
func filter(x []float64, c eq.Coefficients) {
	s1, s2 := 0.0, 0.0
	for i, v := range x {
		y := c.B0*v + s1
		s1 = c.B1*v - c.A1*y + s2
		s2 = c.B2*v - c.A2*y
		x[i] = y
	}
}

const (
	driveTimes = 4
	driveHalf  = 8   // frames on either side that the filters reach
	driveChunk = 512 // frames at a time
)

// drive bends in at four times its rate, without delay. Stretches of silence
// are passed over.
func drive(in []float64, ratio, bias float64) []float64 {
	out := make([]float64, len(in))
	taps := driveTaps()
	phases := drivePhases(&taps)
	around := make([]float64, driveChunk+4*driveHalf)
	bent := make([]float64, driveTimes*(driveChunk+2*driveHalf))
	rest := valve(1.5*valve(bias) - 0.5*bias)
	for start := 0; start < len(in); start += driveChunk {
		n := min(driveChunk, len(in)-start)
		window(around[:n+4*driveHalf], in, start-2*driveHalf)
		if peakOf(around[:n+4*driveHalf]) < silence {
			continue
		}
		bend(bent, around[:n+4*driveHalf], &phases, ratio, bias)
		for i := range n {
			sum := 0.0
			for k, v := range bent[driveTimes*i : driveTimes*i+len(taps)] {
				sum += taps[k] * v
			}
			out[start+i] = sum - rest
		}
	}
	return out
}

// driveTaps are those of a low-pass at four times the rate that ends below
// half of it, of sum 1.
func driveTaps() (taps [2*driveTimes*driveHalf + 1]float64) {
	sum := 0.0
	for i := range taps {
		x := float64(i-driveTimes*driveHalf) / driveTimes
		taps[i] = sinc(0.9*x) * kaiser.Window(x/(driveHalf+0.5), 7)
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

// drivePhases are the taps for each of the places between two frames.
func drivePhases(taps *[2*driveTimes*driveHalf + 1]float64) (phases [driveTimes][2*driveHalf + 1]float64) {
	for p := range phases {
		for j := range phases[p] {
			if k := driveTimes*(2*driveHalf-j) + p; k < len(taps) {
				phases[p][j] = taps[k]
			}
		}
	}
	return phases
}

// bend fills bent with what the valves make of x, between driveHalf frames
// after its start and driveHalf before its end.
func bend(bent, x []float64, phases *[driveTimes][2*driveHalf + 1]float64, ratio, bias float64) {
	ratio *= driveTimes
	for i := range len(x) - 2*driveHalf {
		near := (*[2*driveHalf + 1]float64)(x[i:])
		for p := range phases {
			sum := 0.0
			for j, tap := range &phases[p] {
				sum += tap * near[j]
			}
			bent[driveTimes*i+p] = valve(1.5*valve(sum*ratio+bias) - 0.5*bias)
		}
	}
}

// valve is close to the hyperbolic tangent, and flat from ±3 on.
func valve(x float64) float64 {
	x = min(max(x, -3), 3)
	return x * (27 + x*x) / (27 + 9*x*x)
}
