package pitch

import "strop/dsp"

var shiftCents = dsp.Param{ID: "cents", Name: "pitch", Unit: "cents", Min: -1200, Max: 1200, Neutral: 0}

// Shift makes a sound higher or lower and keeps its tempo.
//
//	cents  how much higher  −1200 to 1200 cents; 0 does nothing, to the bit
//
// It is for anything: chords, a mix, drums. What lasts is turned by a phase
// vocoder, what strikes is played as it is, but faster or more slowly, and
// spliced; the two are told apart by their spectrogram. The formants go with
// the pitch: for a voice that stays the same person, see Voice. The phase
// between the channels is kept. A stroke may come up to 3 ms early or late.
//
// A far shift takes up to 2 dB from noise; below 41 Hz by-products rise above
// −80 dB.
//
// Latency: the same at every setting, 0.32 s at 48 kHz, less than half a second
// at any rate; see DelayFrames.
//
// Source: Z. Průša, N. Holighaus, Phase vocoder done right, EUSIPCO (2017); J.
// Driedger, M. Müller, S. Ewert, Improving time-scale modification of music
// signals using harmonic-percussive separation, IEEE SPL 21(1) (2014).
var Shift = dsp.Spec{
	ID:     "shift",
	Name:   "pitch shift",
	Doc:    "Makes a sound higher or lower and keeps its tempo.",
	Source: "Průša & Holighaus, Phase vocoder done right, EUSIPCO, 2017; Driedger, Müller & Ewert, IEEE SPL 21(1), 2014",
	Params: []dsp.Param{shiftCents},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		cents := s.Get(shiftCents)
		delay := shiftDelay(rateHz)
		if cents == 0 {
			return newHold(delay), nil
		}
		return newShift(rateHz, RatioOf(cents), delay), nil
	},
}

// shiftDelay is the latency of the highest shift, which needs the most.
func shiftDelay(rateHz float64) int {
	n := windowFrames(rateHz)
	return engineDelay(n, splitterDelay(n/8), RatioOf(shiftCents.Max))
}

// engineDelay is how many frames later the output of an engine of pass 1 comes,
// when it is pushed and pulled hop by hop: half a window, and as many whole hops
// as it takes until it is ready.
func engineDelay(n, split int, read float64) int {
	hop := n / 8
	return n/2 + (lead(n, read)+split+hop-1)/hop*hop
}

// shift runs an engine hop by hop.
type shift struct {
	engine  *engine
	delay   int
	at      int // frames into the hop
	in, out []dsp.Frame
	strikes []dsp.Frame // of out
	wait    *hold       // what the engine needs less than the one that needs most
}

var (
	_ dsp.Processor = (*shift)(nil)
	_ dsp.Delayer   = (*shift)(nil)
	_ dsp.Settler   = (*shift)(nil)
	_ dsp.Renderer  = (*shift)(nil)
)

func newShift(rateHz, ratio float64, delay int) *shift {
	e := newEngine(rateHz, ratio, 1)
	s := &shift{engine: e, delay: delay, in: make([]dsp.Frame, e.hop()), out: make([]dsp.Frame, e.hop()), strikes: make([]dsp.Frame, e.hop())}
	s.wait = newHold(delay - engineDelay(e.voc.n, e.split.delay(), ratio))
	s.Reset()
	return s
}

// DelayFrames is the latency, the same at every setting.
func (s *shift) DelayFrames() int { return s.delay }

// SettleFrames is the latency and a window: by then nothing of the silence
// before the beginning is left. The phases of what is turned go on from their
// first, whatever that was.
func (s *shift) SettleFrames() int { return s.delay + s.engine.voc.n }

func (s *shift) Reset() {
	s.engine.reset()
	s.wait.Reset()
	s.at = 0
	clear(s.in)
	clear(s.out)
}

func (s *shift) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), len(s.in)-s.at)
		in, out := s.in[s.at:][:n], s.out[s.at:][:n]
		for i, x := range buf[:n] {
			buf[i], in[i] = out[i], x
		}
		buf = buf[n:]
		s.at += n
		if s.at == len(s.in) {
			s.at = 0
			s.turn()
		}
	}
}

func (s *shift) turn() {
	s.engine.push(s.in)
	if s.engine.ready() {
		s.engine.pull(s.out, s.strikes)
		s.wait.Process(s.out)
	}
}

// Render is Process with the vocoder on a core of its own: it works on a hop
// while the strokes of that hop and the input of the next are seen to.
func (s *shift) Render(buf []dsp.Frame) {
	work, done := make(chan func()), make(chan struct{})
	defer close(work)
	go func() {
		for f := range work {
			f()
			done <- struct{}{}
		}
	}()
	busy := false
	for len(buf) > 0 {
		n := min(len(buf), len(s.in)-s.at)
		copy(s.in[s.at:], buf[:n])
		whole := s.at+n == len(s.in)
		if whole {
			s.engine.push(s.in)
		}
		if busy {
			<-done
			s.finish()
			busy = false
		}
		copy(buf, s.out[s.at:][:n])
		buf = buf[n:]
		s.at += n
		if whole {
			s.at = 0
			if busy = s.engine.ready(); busy {
				window, hop := s.engine.window()
				work <- func() { s.engine.voc.set(window, hop, s.out) }
				s.engine.strike(s.strikes)
			}
		}
	}
	if busy {
		<-done
		s.finish()
	}
}

// finish ends the hop that Render has in hand.
func (s *shift) finish() {
	together(s.out, s.strikes)
	s.engine.next()
	s.wait.Process(s.out)
}
