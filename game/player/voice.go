package player

import "strop/dsp"

const (
	fadeS       = 0.005 // at every switch and at the ends of a loop; ITU-R BS.1534-3 (2015)
	swellFirstS = 1.0   // the first sound of a sitting, or after a stop; our choice
	swellLaterS = 0.05  // every later start, and after a pause; our choice
)

// wish is what the control side wants to hear. One that was stored is never
// altered: every request stores a new one, so that the audio side always sees
// requests whole, and of several only the last.
type wish struct {
	program *Program // nil: nothing
	start   uint64   // counts Play, Replace and Stop
	kept    bool     // the last of them keeps the place in the loop
	side    int
	paused  bool
	ratio   float64 // master level
	eases   uint64  // counts Ease
}

// voice is the audio side: what is heard, and its way to what is wished.
type voice struct {
	rateHz float64
	wish   *wish

	program *Program // what is heard; nil: nothing
	start   uint64   // which wish.start it came from
	side    int
	pos     int  // of the next frame in the loop
	resting bool // paused, and faded out
	fresh   bool // the next start is the first
	eases   uint64

	gate  gate
	swell swell
}

func newVoice(rateHz float64) voice {
	n := frames(fadeS, rateHz)
	return voice{rateHz: rateHz, fresh: true, gate: gate{window: rising(n)}}
}

func frames(seconds, rateHz float64) int { return int(seconds*rateHz + 0.5) }

// silent reports that no frame of the program is on its way out.
func (v *voice) silent() bool { return v.program == nil || v.resting }

// heed takes a wish in. Where sound must make room it begins to fade here.
func (v *voice) heed(w *wish) {
	v.wish = w
	if v.eases != w.eases {
		v.eases, v.fresh = w.eases, true
		v.swellUp()
	}
	if v.silent() || v.gate.shut() {
		v.turn()
	}
	v.gate.closing = w.start != v.start || w.paused || w.side != v.side
}

// turn brings what is heard to what is wished, in a moment of silence.
func (v *voice) turn() {
	w := v.wish
	wasSilent := v.silent()
	switch {
	case w.start != v.start && w.kept && v.program != nil && v.program.Frames() == w.program.Frames():
		v.program, v.start, v.side, v.resting = w.program, w.start, w.side, w.paused
	case w.start != v.start:
		v.begin(w)
	case w.paused:
		v.side, v.resting = w.side, true
	case wasSilent && v.program != nil:
		v.side, v.resting = w.side, false
		v.swellUp()
		v.gate.open = len(v.gate.window)
	default:
		v.side = w.side
	}
	v.gate.closing = false
}

// begin starts a program from the top, or falls silent where there is none.
// The swell and the fade at the loop's start are its fade-in.
func (v *voice) begin(w *wish) {
	v.program, v.start, v.side, v.pos = w.program, w.start, w.side, 0
	v.resting = w.paused
	v.gate.open = len(v.gate.window)
	if w.program == nil {
		v.fresh = true
		return
	}
	v.swellUp()
}

func (v *voice) swellUp() {
	seconds := swellLaterS
	if v.fresh {
		seconds = swellFirstS
	}
	v.swell = swell{n: frames(seconds, v.rateHz)}
}

// fill overwrites the start of buf with what is heard next and returns how
// many frames that is, at least one.
func (v *voice) fill(buf []dsp.Frame) int {
	if v.silent() {
		clear(buf)
		return len(buf)
	}
	loop := v.program.Sides[v.side]
	n := min(len(buf), len(loop)-v.pos)
	if v.gate.closing {
		n = min(n, v.gate.open)
	}
	copy(buf[:n], loop[v.pos:])
	v.shape(buf[:n], len(loop))
	v.pos += n
	if v.pos == len(loop) {
		v.pos = 0
	}
	if v.gate.closing && v.gate.shut() {
		v.turn()
	}
	return n
}

func (v *voice) shape(buf []dsp.Frame, loopFrames int) {
	if !v.program.Seamless {
		fadeEnds(buf, v.gate.window, v.pos, loopFrames)
	}
	v.gate.process(buf)
	v.swell.process(buf)
	if v.swell.done == v.swell.n {
		v.fresh = false
	}
}
