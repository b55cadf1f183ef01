package eq

import (
	"fmt"
	"sync/atomic"

	"strop/dsp"
)

// Glide is a peak or a shelf whose knobs may be turned while it sounds.
//
// At rest it has the response of Peak, LowShelf or HighShelf. After Turn the
// frequency and the width move along their logarithm and the gain along its
// dB, starting and ending gently, and have arrived 50 ms later; another Turn on
// the way starts from where they are. The coefficients are found anew every 32 frames, counted
// from Reset, and move in a straight line between: the same bits for any split
// into blocks. No latency.
type Glide struct {
	spec   *dsp.Spec
	design design
	rateHz float64
	ramp   int // stretches of a whole movement

	target atomic.Pointer[knobs]

	heading  knobs // what is moved to
	from, to [3]float64
	left     int // stretches of the movement that are left
	now      svf
	next     svf
	moving   bool
	at       int // frames into the stretch
	memory   memory
}

var _ dsp.Processor = (*Glide)(nil)

// knobs are the values of a spec's three parameters, in their order.
type knobs [3]float64

type design func(rateHz, freqHz, gainDB, third float64) Coefficients

const (
	stretch = 32   // frames between two sets of coefficients
	glideS  = 0.05 // seconds of a movement
)

// NewPeakGlide is a Glide with the parameters of Peak.
func NewPeakGlide(rateHz float64, s dsp.Setting) (*Glide, error) {
	return newGlide(&Peak, MatchedPeak, rateHz, s)
}

// NewLowShelfGlide is a Glide with the parameters of LowShelf.
func NewLowShelfGlide(rateHz float64, s dsp.Setting) (*Glide, error) {
	return newGlide(&LowShelf, MatchedLowShelf, rateHz, s)
}

// NewHighShelfGlide is a Glide with the parameters of HighShelf.
func NewHighShelfGlide(rateHz float64, s dsp.Setting) (*Glide, error) {
	return newGlide(&HighShelf, MatchedHighShelf, rateHz, s)
}

func newGlide(spec *dsp.Spec, d design, rateHz float64, s dsp.Setting) (*Glide, error) {
	if _, err := spec.New(rateHz, s); err != nil {
		return nil, err
	}
	g := &Glide{spec: spec, design: d, rateHz: rateHz, ramp: max(1, int(glideS*rateHz/stretch+0.5))}
	g.target.Store(g.knobs(s))
	g.Reset()
	return g, nil
}

func (g *Glide) knobs(s dsp.Setting) *knobs {
	var k knobs
	for i, p := range g.spec.Params {
		k[i] = s.Get(p)
	}
	return &k
}

// Turn sets the knobs to s; what s does not mention goes to its neutral value.
// It may be called while another goroutine is in Process. The error is that of
// the spec's New, and then nothing moves.
func (g *Glide) Turn(s dsp.Setting) error {
	if _, err := g.spec.New(g.rateHz, s); err != nil {
		return fmt.Errorf("the knobs stay where they are: %w", err)
	}
	g.target.Store(g.knobs(s))
	return nil
}

// Reset clears the memory, with the knobs where they were last turned to.
func (g *Glide) Reset() {
	g.heading = *g.target.Load()
	g.from, g.to = g.places(g.heading), g.places(g.heading)
	g.left, g.at, g.moving, g.memory = 0, 0, false, memory{}
	g.now = g.section(g.heading)
	g.next = g.now
}

func (g *Glide) section(k knobs) svf { return g.design(g.rateHz, k[0], k[1], k[2]).svf() }

func (g *Glide) places(k knobs) (places [3]float64) {
	for i, v := range k {
		places[i] = g.spec.Params[i].Place(v)
	}
	return places
}

// Process filters buf in place.
func (g *Glide) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		if g.at == 0 {
			g.advance()
		}
		n := min(len(buf), stretch-g.at)
		if g.moving {
			g.move(buf[:n])
		} else {
			g.memory.run(buf[:n], g.now)
		}
		buf = buf[n:]
		g.at = (g.at + n) % stretch
	}
}

// advance begins a stretch.
func (g *Glide) advance() {
	g.memory.clear()
	g.now = g.next
	if k := *g.target.Load(); k != g.heading {
		g.from, g.to, g.left = g.place(), g.places(k), g.ramp
		g.heading = k
	}
	g.moving = g.left > 0
	if !g.moving {
		return
	}
	g.left--
	k := g.heading // in the end to the last bit
	if g.left > 0 {
		for i, place := range g.place() {
			k[i] = g.spec.Params[i].At(place)
		}
	}
	g.next = g.section(k)
}

// place is where the knobs are now.
func (g *Glide) place() (place [3]float64) {
	part := float64(g.left) / float64(g.ramp)
	part *= part * (3 - 2*part)
	for i := range place {
		place[i] = g.to[i] + part*(g.from[i]-g.to[i])
	}
	return place
}

// move filters a part of a stretch during which the coefficients change.
func (g *Glide) move(buf []dsp.Frame) {
	for i := range buf {
		part := float64(g.at+i+1) / stretch
		g.memory.run(buf[i:i+1], g.now.towards(g.next, part))
	}
}
