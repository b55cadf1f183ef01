// Package dsp holds what every family of processors shares: the stereo frame,
// the Processor contract, declared parameters, settings, units, frequency
// scales and test generators. The processors themselves live in the families
// below this package, and package dsp/rack is the table of all of them.
//
// Conventions, everywhere in the program: full scale is ±1.0; a level in dB is
// relative to full scale; a float carries its unit in its name (freqHz gainDB
// attackMS rateHz widthOct levelLU); a linear amplitude is called ratio; n
// counts frames. Samples beyond full scale are kept, never clipped in passing.
package dsp

// Frame is one stereo sample: left, then right. It is an alias, so that a
// decoder's [][2]float64 needs no copy.
type Frame = [2]float64

// A Processor changes frames in place.
//
// Its settings are fixed when it is built. What it writes may depend only on
// the frames it was given since Reset or since it was built, never on how
// those frames were split into blocks: any split gives the same bits.
//
// Process is called on the audio path. It does not allocate, lock, wait or
// log, it keeps nothing of buf, and touches nothing outside it. An empty buf
// is fine. Frames may hold any float64: after an input of infinities or NaN
// has passed, Reset makes the processor as new again.
//
// Process and Reset must not run at the same time.
type Processor interface {
	Process(buf []Frame)
	Reset()
}

// Delayer is implemented by a Processor whose output lags behind its input.
type Delayer interface {
	// DelayFrames is the lag, constant for the life of the processor.
	DelayFrames() int
}

// Settler is implemented by a Processor that forgets.
type Settler interface {
	// SettleFrames is how many frames it has to hear until what was heard before
	// them, or that there was nothing, is heard no more: to −120 dB, unless the
	// processor says what else. Constant for the life of the processor.
	SettleFrames() int
}

// Renderer is implemented by a Processor that can be quicker where no sound card
// waits for it.
type Renderer interface {
	// Render is Process, to the bit, on more than one core: it may start
	// goroutines, and has waited for them when it returns. It is never called on
	// the audio path.
	Render(buf []Frame)
}

// Render is what p makes of buf, as quickly as it can.
func Render(p Processor, buf []Frame) {
	if r, ok := p.(Renderer); ok {
		r.Render(buf)
		return
	}
	p.Process(buf)
}

// A Chain is processors in series. The empty Chain changes nothing.
type Chain []Processor

var (
	_ Processor = Chain(nil)
	_ Delayer   = Chain(nil)
)

// chainBlock is how many frames pass through a whole chain at a time: few
// enough to stay in the nearest cache from one processor to the next.
const chainBlock = 512

// Process runs buf through every processor in order.
func (c Chain) Process(buf []Frame) {
	for len(buf) > chainBlock {
		c.block(buf[:chainBlock])
		buf = buf[chainBlock:]
	}
	c.block(buf)
}

func (c Chain) block(buf []Frame) {
	for i := range c {
		c[i].Process(buf)
	}
}

// Reset makes every processor as new.
func (c Chain) Reset() {
	for i := range c {
		c[i].Reset()
	}
}

// DelayFrames is the sum of the delays in the chain.
func (c Chain) DelayFrames() int {
	n := 0
	for _, p := range c {
		n += DelayFrames(p)
	}
	return n
}

// DelayFrames is the lag of p, 0 if it states none.
func DelayFrames(p Processor) int {
	if d, ok := p.(Delayer); ok {
		return d.DelayFrames()
	}
	return 0
}

// SettleFrames is how many frames p takes to forget, and n where p does not
// tell: of a Chain, that of all in it together, no more than n.
func SettleFrames(p Processor, n int) int {
	switch p := p.(type) {
	case Settler:
		return min(p.SettleFrames(), n)
	case Chain:
		sum := 0
		for i := range p {
			sum += SettleFrames(p[i], n)
		}
		return min(sum, n)
	}
	return n
}

// Gain is the Processor that multiplies both channels by one ratio.
// Gain(1) changes nothing.
type Gain float64

var (
	_ Processor = Gain(1)
	_ Settler   = Gain(1)
)

// Process multiplies every sample by the ratio.
func (g Gain) Process(buf []Frame) {
	ratio := float64(g)
	for i := range buf {
		buf[i][0] *= ratio
		buf[i][1] *= ratio
	}
}

// Reset does nothing: a gain has no memory.
func (g Gain) Reset() {}

// SettleFrames is 0.
func (g Gain) SettleFrames() int { return 0 }
