package dynamics

import (
	"fmt"

	"strop/dsp"
)

// design is a compressor before it is built: what Compressor lets the caller
// choose, and what the four characters choose themselves.
type design struct {
	rateHz                       float64
	thresholdDB, ratio, kneeDB   float64
	attackMS, releaseMS          float64
	slowMS, slowPart             float64 // the memory of the release
	rmsMS                        float64 // 0: peak
	sidechainHz, sidechainTiltDB float64
	lookaheadMS                  float64
	link, makeupDB, mix          float64 // link and mix from 0 to 1
	feedback                     bool
}

// detector turns levels, or the reductions they ask for, into smooth
// reductions.
type detector interface {
	smooth([]float64)
	reset()
}

// staticCurve turns levels into the reductions they ask for.
type staticCurve interface{ above([]float64) }

// compressor takes blocks through its stages: side-chain, levels, curve,
// detector, gain.
type compressor struct {
	meter
	delay
	side      sidechain
	curve     staticCurve // nil where the detector holds it, in a loop
	detectors [2]detector
	link      float64
	dry, wet  float64

	heard       [block]dsp.Frame
	left, right [block]float64
}

var (
	_ dsp.Processor = (*compressor)(nil)
	_ dsp.Delayer   = (*compressor)(nil)
	_ Reducer       = (*compressor)(nil)
	_ staticCurve   = (*knee)(nil)
	_ staticCurve   = (*movingKnee)(nil)
	_ detector      = (*decoupled)(nil)
	_ detector      = (*loop)(nil)
)

func (d design) build() (dsp.Processor, error) {
	if !d.feedback && d.attackMS >= d.releaseMS {
		return nil, notFaster(d.attackMS, d.releaseMS)
	}
	c := &compressor{
		delay: newDelay(d.lookaheadMS, d.rateHz),
		side:  newSidechain(d.rateHz, d.sidechainHz, d.sidechainTiltDB, d.rmsMS),
		link:  d.link,
		dry:   1 - d.mix,
		wet:   d.mix * dsp.FromDB(d.makeupDB),
	}
	if !d.feedback {
		k := kneeAbove(d.thresholdDB, d.kneeDB, 1-1/d.ratio)
		c.curve = &k
	}
	for i := range c.detectors {
		c.detectors[i] = d.detector()
	}
	return c, nil
}

func notFaster(attackMS, releaseMS float64) error {
	return fmt.Errorf("attackMS=%g is not below releaseMS=%g; a release cannot be faster than the attack", attackMS, releaseMS)
}

func (d design) detector() detector {
	m := memory{part: d.slowPart}
	if d.slowPart > 0 {
		m.charge = 1 - keep(d.slowMS, d.rateHz)
	}
	if d.feedback {
		l := newLoop(d.rateHz, d.thresholdDB, d.kneeDB, d.ratio, d.attackMS, d.releaseMS, m)
		return &l
	}
	return &decoupled{
		attack:  keep(d.attackMS, d.rateHz),
		release: keep(decoupledRelease(d.attackMS, d.releaseMS), d.rateHz),
		memory:  m,
	}
}

// Reset makes the compressor as new.
func (c *compressor) Reset() {
	c.meter.reset()
	c.delay.reset()
	c.side.reset()
	for i := range c.detectors {
		c.detectors[i].reset()
	}
}

// Process compresses buf in place.
func (c *compressor) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), block)
		if c.link == 1 {
			c.linked(buf[:n])
		} else {
			c.apart(buf[:n])
		}
		buf = buf[n:]
	}
}

// hear is what the detector hears of buf, which is then held back.
func (c *compressor) hear(buf []dsp.Frame) []dsp.Frame {
	heard := c.heard[:copy(c.heard[:], buf)]
	c.side.hear(heard)
	c.delay.process(buf)
	return heard
}

func (c *compressor) linked(buf []dsp.Frame) {
	x := c.left[:len(buf)]
	linkedLevels(x, c.hear(buf), c.side.doublings())
	if c.curve != nil {
		c.curve.above(x)
	}
	c.detectors[0].smooth(x)
	c.read(x)
	gains(x, c.dry, c.wet)
	both(buf, x)
}

// apart gives each channel a detector. What is linked is the level: the softer
// channel's is raised towards the louder one's.
func (c *compressor) apart(buf []dsp.Frame) {
	l, r := c.left[:len(buf)], c.right[:len(buf)]
	channelLevels(l, r, c.hear(buf), c.side.doublings())
	if c.link > 0 {
		draw(l, r, c.link)
	}
	if c.curve != nil {
		c.curve.above(l)
		c.curve.above(r)
	}
	c.detectors[0].smooth(l)
	c.detectors[1].smooth(r)
	c.readBoth(l, r)
	gains(l, c.dry, c.wet)
	gains(r, c.dry, c.wet)
	each(buf, l, r)
}

// draw raises the smaller of two towards the greater.
func draw(left, right []float64, link float64) {
	right = right[:len(left)]
	for i, l := range left {
		most := greater(l, right[i])
		left[i] += link * (most - l)
		right[i] += link * (most - right[i])
	}
}
