package dynamics

import "strop/dsp"

// How a transient is told from what follows. Common practice, no source; the
// figures are our own.
const (
	onsetMS   = 20  // in which the slow level rises after the sound
	tailMS    = 200 // in which it falls after the sound
	fullDB    = 12  // difference of the levels that brings the whole gain
	glideMS   = 1   // of the gain
	audibleDB = -70 // what is softer counts as silence
)

// Transient raises or lowers the beginnings of sounds, and what follows them.
//
//	attackDB   gain of the beginnings    −15 to 15 dB; 0 does nothing
//	sustainDB  gain of what follows      −15 to 15 dB; 0 does nothing, both to the bit
//
// The level (greatest peak of 10 ms, in dB) is compared with one that rises
// slower, by 20 ms, and one that falls slower, by 200 ms. A level 12 dB above
// the first gets attackDB in full, 12 dB below the second sustainDB; in between
// in proportion. As levels are compared, loud and soft sounds are treated alike,
// down to −70 dB. A steady sound passes unchanged. The gain glides by 1 ms.
// Linked channels, no latency.
//
// Source: common practice, no source.
var Transient = dsp.Spec{
	ID:     "transient",
	Name:   "transient shaper",
	Doc:    "Raises or lowers the beginnings of sounds, and what follows them.",
	Source: "common practice, no source",
	Params: []dsp.Param{transientAttack, transientSustain},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		t := &transient{
			held:    newWindow(rateHz),
			attack:  s.Get(transientAttack) / fullDB,
			sustain: s.Get(transientSustain) / fullDB,
			rise:    1 - keep(onsetMS, rateHz),
			fall:    1 - keep(tailMS, rateHz),
			glide:   1 - keep(glideMS, rateHz),
		}
		t.Reset()
		return t, nil
	},
}

var (
	transientAttack  = dsp.Param{ID: "attackDB", Name: "attack", Unit: "dB", Min: -15, Max: 15}
	transientSustain = dsp.Param{ID: "sustainDB", Name: "sustain", Unit: "dB", Min: -15, Max: 15}
)

var (
	full    = fullDB / doublingDB
	audible = audibleDB / doublingDB
)

type transient struct {
	meter
	held              window
	attack, sustain   float64 // doublings of gain per doubling of difference
	rise, fall, glide float64
	onset, tail       float64 // the slower levels
	y                 float64
	x                 [block]float64
}

var (
	_ dsp.Processor = (*transient)(nil)
	_ Reducer       = (*transient)(nil)
)

// Reset forgets what it heard.
func (t *transient) Reset() {
	t.meter.reset()
	t.held.reset()
	t.onset, t.tail, t.y = audible, audible, 0
}

// Process works on buf in place.
func (t *transient) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), block)
		x := t.x[:n]
		t.held.levels(x, buf[:n])
		t.shape(x)
		t.read(x)
		gains(x, 0, 1)
		both(buf[:n], x)
		buf = buf[n:]
	}
}

// shape replaces levels by reductions.
func (t *transient) shape(x []float64) {
	onset, tail, y, full, audible := t.onset, t.tail, t.y, full, audible
	for i, level := range x {
		level = greater(level, audible)
		onset += t.rise * (level - onset)
		if level < onset {
			onset = level
		}
		tail += t.fall * (level - tail)
		tail = greater(level, tail)
		gain := t.attack*lesser(level-onset, full) + t.sustain*lesser(tail-level, full)
		y += t.glide * (tiny - gain - y)
		x[i] = y
	}
	t.onset, t.tail, t.y = onset, tail, y
}

func lesser(a, b float64) float64 {
	if a < b {
		return a
	}
	return b
}
