package space

import (
	"fmt"
	"math"

	"strop/dsp"
)

var (
	chorusDelay  = dsp.Param{ID: "delayMS", Name: "delay", Unit: "ms", Min: 2, Max: 40, Neutral: 15, Scale: dsp.Log}
	chorusDepth  = dsp.Param{ID: "depthMS", Name: "depth", Unit: "ms", Min: 0, Max: 10, Neutral: 2}
	chorusVoices = dsp.Param{ID: "voices", Name: "voices", Min: 1, Max: maxVoices, Neutral: 3, Scale: dsp.Whole}
	chorusSpread = dsp.Param{ID: "spreadDeg", Name: "spread", Unit: "°", Min: 0, Max: 180, Neutral: 90}
)

const maxVoices = 4

// Chorus adds voices that come later and waver in pitch.
//
//	delayMS    mean delay of the voices                           2 to 40 ms
//	depthMS    from the least to the greatest delay               0 to 10 ms
//	rateHz     how often they go to and fro, as a sine            0.02 to 8 Hz
//	voices     how many, evenly apart on that sine                1 to 4
//	spreadDeg  how far right is ahead of left on it               0 to 180°
//	mixPct     level of all voices together over the direct sound 0 to 100 %; 0 does nothing,
//	                                                              to the bit
//
// The pitch wavers by ±π·rateHz·depthMS/1000 of itself. Direct sound and voices
// are lowered together by √(1 + mix²), their power together. A voice reaches
// up to 0.4 of the rate. No latency.
// Source: J. Dattorro, Effect design, part 2: delay-line modulation and chorus,
// JAES 45(10) (1997); the delay by parts of a sample is a windowed sinc.
var Chorus = dsp.Spec{
	ID:     "chorus",
	Name:   "chorus",
	Doc:    "Adds voices that come later and waver in pitch.",
	Source: "J. Dattorro, Effect design, part 2: delay-line modulation and chorus, JAES 45(10), 1997",
	Params: []dsp.Param{chorusDelay, chorusDepth, modRate, chorusVoices, chorusSpread, modMix},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		middle, swing, err := sweep(rateHz, s.Get(chorusDelay)-s.Get(chorusDepth)/2, s.Get(chorusDepth))
		if err != nil {
			return nil, err
		}
		c := &chorus{
			middle: middle, swing: swing, lfo: newTurner(rateHz, s.Get(modRate)), rest: newTurner(rateHz, s.Get(modRate)),
			table: sincTable(), voices: int(s.Get(chorusVoices)),
		}
		for side := range 2 {
			c.tapes[side] = newTape(middle + swing)
			for v := range c.voices {
				ahead := 2*math.Pi*float64(v)/float64(c.voices) + float64(side)*s.Get(chorusSpread)*math.Pi/180
				c.ahead[side][v][0], c.ahead[side][v][1] = math.Sincos(ahead)
			}
		}
		mix := s.Get(modMix) / 100
		c.dry = 1 / math.Sqrt(1+mix*mix)
		c.wet = mix * c.dry / math.Sqrt(float64(c.voices))
		return c, nil
	},
}

// sweep is the middle and the half width, in frames, of a delay from leastMS
// on that is widthMS wide.
func sweep(rateHz, leastMS, widthMS float64) (middle, swing float64, err error) {
	if least := leastDelay * 1000 / rateHz; leastMS < least {
		return 0, 0, fmt.Errorf("the delay comes down to %.2f ms; at this rate it must stay above %.2f ms", leastMS, least)
	}
	return (leastMS + widthMS/2) * rateHz / 1000, widthMS / 2 * rateHz / 1000, nil
}

type chorus struct {
	dry, wet      float64
	middle, swing float64
	voices        int
	ahead         [2][maxVoices][2]float64 // sine and cosine of where a voice is ahead
	lfo, rest     turner
	table         *[sincPlaces]sincRow
	tapes         [2]tape
}

var _ dsp.Processor = (*chorus)(nil)

func (c *chorus) Reset() {
	c.lfo = c.rest
	c.tapes[0].reset()
	c.tapes[1].reset()
}

func (c *chorus) Process(buf []dsp.Frame) {
	for i := range buf {
		for side := range 2 {
			x := buf[i][side]
			tape, sum := &c.tapes[side], 0.0
			for v := range c.voices {
				sin, cos := c.ahead[side][v][0], c.ahead[side][v][1]
				sum += tape.read(c.table, c.middle+c.swing*(c.lfo.sin*cos+c.lfo.cos*sin))
			}
			tape.write(x)
			buf[i][side] = c.dry*x + c.wet*sum
		}
		c.lfo.next()
	}
}
