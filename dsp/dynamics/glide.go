package dynamics

import (
	"errors"
	"fmt"
	"sync/atomic"

	"strop/dsp"
)

// Glide is a feed-forward Compressor whose threshold and ratio may be turned
// while it sounds.
//
// At rest it gives what Compressor gives. After Turn the threshold moves in dB
// and the slope 1 − 1/ratio in proportion, in a straight line, and both have
// arrived 50 ms later; another Turn on the way starts from where they are.
// Latency: the look-ahead.
type Glide struct {
	compressor
	set    dsp.Setting // as it was built
	rateHz float64
	ramp   int // frames of a whole movement

	target  atomic.Pointer[knobs]
	heading knobs
	curve   movingKnee
	left    int // frames of the movement that are left
}

var (
	_ dsp.Processor = (*Glide)(nil)
	_ dsp.Delayer   = (*Glide)(nil)
	_ Reducer       = (*Glide)(nil)
)

type knobs struct{ thresholdDB, ratio float64 }

const glideS = 0.05 // seconds of a movement

// movingKnee is a knee of slope 1 whose start and slope change from frame to
// frame.
type movingKnee struct {
	knee
	slope                float64
	startStep, slopeStep float64
}

func (m *movingKnee) above(levels []float64) {
	k, start, slope := m.knee, m.knee.start, m.slope
	for i, x := range levels {
		start += m.startStep
		slope += m.slopeStep
		levels[i] = slope * k.at(x-start)
	}
}

// NewGlide is a Glide with the parameters of Compressor. The error is that of
// Compressor's New, or that feedback cannot be turned.
func NewGlide(rateHz float64, s dsp.Setting) (*Glide, error) {
	if s.Get(topology) == 0 {
		return nil, errors.New("a feedback compressor cannot be turned while it sounds; set topology to 1")
	}
	p, err := Compressor.New(rateHz, s)
	if err != nil {
		return nil, err
	}
	g := &Glide{compressor: *p.(*compressor), set: s.With(topology.ID, 1), rateHz: rateHz, ramp: max(1, int(glideS*rateHz))}
	g.compressor.curve = &g.curve
	g.target.Store(&knobs{s.Get(threshold), s.Get(ratio)})
	g.Reset()
	return g, nil
}

// Turn moves threshold and ratio to those of s. It may be called while another
// goroutine is in Process. Where s is not allowed, or asks for another
// difference from what was built, the error says so and nothing moves.
func (g *Glide) Turn(s dsp.Setting) error {
	if _, err := Compressor.New(g.rateHz, s); err != nil {
		return fmt.Errorf("the knobs stay where they are: %w", err)
	}
	for _, p := range Compressor.Params {
		if p.ID != threshold.ID && p.ID != ratio.ID && s.Get(p) != g.set.Get(p) {
			return fmt.Errorf("the knobs stay where they are: %s cannot be turned while it sounds", p.ID)
		}
	}
	g.target.Store(&knobs{s.Get(threshold), s.Get(ratio)})
	return nil
}

// Reset forgets what it heard, with the knobs where they were last turned to.
func (g *Glide) Reset() {
	g.compressor.Reset()
	g.left = 0
	g.arrive(*g.target.Load())
}

// arrive puts the curve where k says, to the bit, at rest.
func (g *Glide) arrive(k knobs) {
	g.heading = k
	g.curve = movingKnee{knee: kneeAbove(k.thresholdDB, g.set.Get(kneeWidth), 1), slope: 1 - 1/k.ratio}
}

// Process compresses buf in place.
func (g *Glide) Process(buf []dsp.Frame) {
	if k := *g.target.Load(); k != g.heading {
		g.head(k)
	}
	for g.left > 0 && len(buf) > 0 {
		n := min(len(buf), g.left, block)
		g.compressor.Process(buf[:n])
		g.advance(n)
		buf = buf[n:]
	}
	g.compressor.Process(buf)
}

// head begins a movement to k.
func (g *Glide) head(k knobs) {
	g.heading, g.left = k, g.ramp
	end := kneeAbove(k.thresholdDB, g.set.Get(kneeWidth), 1)
	g.curve.startStep = (end.start - g.curve.start) / float64(g.ramp)
	g.curve.slopeStep = (1 - 1/k.ratio - g.curve.slope) / float64(g.ramp)
}

func (g *Glide) advance(n int) {
	g.curve.start += float64(n) * g.curve.startStep
	g.curve.slope += float64(n) * g.curve.slopeStep
	if g.left -= n; g.left == 0 {
		g.arrive(g.heading)
	}
}
