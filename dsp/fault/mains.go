package fault

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"strop/dsp"
	"strop/dsp/fourier"
)

var mainsHz = dsp.Param{ID: "mainsHz", Name: "mains", Unit: "Hz", Min: 50, Max: 60, Neutral: 50, Step: 10}

// fullDB is the level of what is added by hum, buzz, hiss and rumble; its
// least value is none.
var fullDB = dsp.Param{ID: "levelDBFS", Name: "level", Unit: "dBFS", Min: -96, Max: -12, Neutral: -96}

const (
	cyclePoints = 8192
	mainsDrift  = 0.001 // of the frequency, to either side
	driftFrames = 1024  // the frequency is constant for so long
)

// driftS are the times of the two sines by whose mean the mains drift.
var driftS = [2]float64{97, 41}

// mains adds one waveform over and over, once a cycle of the mains, whose
// frequency wanders by up to 0.1 %. The same in both channels.
type mains struct {
	cycle       []float64 // cyclePoints and the first once more; nil: nothing is added
	cycleFrames float64   // frames in a cycle that does not drift
	rateHz      float64
	driftRad    [2]float64
	turn, step  float64 // place in the cycle, and how far it moves a frame: 0 to 1
	count       int     // frames since Reset
}

var _ dsp.Processor = (*mains)(nil)

// newMains makes the waveform from its partials, of which partial k, from 0
// on, has k cycles in one of the mains; their sizes matter to each other only.
// What lies above 0.45 of the rate is left out.
func newMains(rateHz float64, s dsp.Setting, partials []complex128, random *rand.Rand) *mains {
	m := &mains{cycleFrames: rateHz / s.Get(mainsHz), rateHz: rateHz}
	for i := range m.driftRad {
		m.driftRad[i] = 2 * math.Pi * random.Float64()
	}
	if s.Get(fullDB) > fullDB.Min {
		audible := partials[:min(len(partials), int(0.45*m.cycleFrames)+1)]
		m.cycle = cycleOf(audible, dsp.FromDB(s.Get(fullDB)))
	}
	m.Reset()
	return m
}

// cycleOf is the sum of partials, scaled so that their sizes, squared and added
// up, are the square of ratio.
func cycleOf(partials []complex128, ratio float64) []float64 {
	power := 0.0
	for _, p := range partials {
		power += square(cmplx.Abs(p))
	}
	scale := ratio / math.Sqrt(power) * cyclePoints / 2
	re, im := make([]float64, cyclePoints/2+1), make([]float64, cyclePoints/2+1)
	for k, p := range partials {
		re[k], im[k] = scale*real(p), scale*imag(p)
	}
	cycle := make([]float64, cyclePoints+1)
	fourier.NewFFT(cyclePoints).Inverse(cycle[:cyclePoints], re, im)
	cycle[cyclePoints] = cycle[0]
	return cycle
}

func square(x float64) float64 { return x * x }

// Reset begins the cycle and the drift anew.
func (m *mains) Reset() { m.turn, m.step, m.count = 0, 0, 0 }

// Process adds to buf in place.
func (m *mains) Process(buf []dsp.Frame) {
	if m.cycle == nil {
		return
	}
	for len(buf) > 0 {
		since := m.count % driftFrames
		if since == 0 {
			m.step = (1 + mainsDrift*m.drift()) / m.cycleFrames
		}
		n := min(driftFrames-since, len(buf))
		m.add(buf[:n])
		m.count += n
		buf = buf[n:]
	}
}

// drift is where the frequency is in its range, −1 to 1.
func (m *mains) drift() (sum float64) {
	t := float64(m.count) / m.rateHz
	for i, s := range driftS {
		sum += math.Sin(2*math.Pi*t/s+m.driftRad[i]) / 2
	}
	return sum
}

func (m *mains) add(buf []dsp.Frame) {
	cycle, turn, step := m.cycle, m.turn, m.step
	for i := range buf {
		at := turn * cyclePoints
		j := int(at)
		y := cycle[j] + (at-float64(j))*(cycle[j+1]-cycle[j])
		buf[i][0] += y
		buf[i][1] += y
		if turn += step; turn >= 1 {
			turn--
		}
	}
	m.turn = turn
}
