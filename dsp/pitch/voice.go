package pitch

import (
	"math"

	"strop/dsp"
)

var voiceCents = dsp.Param{ID: "cents", Name: "pitch", Unit: "cents", Min: -600, Max: 600, Neutral: 0}

// Voice makes one voice higher or lower and leaves its formants where they are:
// the same person sings another note.
//
//	cents  how much higher  −600 to 600 cents; 0 does nothing, to the bit
//
// It is for a single voice or a single instrument that plays one note at a time,
// from 65 to 1000 Hz; what is not periodic, such as a consonant, passes as it
// is. Of a chord it makes noise: for that see Shift. Periods are marked in the
// sum of both channels, each taken between the marks beside it under half
// cosines, and set down at the marks of the new pitch, the nearest one again or
// one left out as needed.
//
// Latency: the same at every setting, 0.11 s; see DelayFrames.
//
// Source: E. Moulines, F. Charpentier, Pitch-synchronous waveform processing
// techniques for text-to-speech synthesis using diphones, Speech Communication
// 9 (1990), the time-domain method; periods by de Cheveigné & Kawahara, YIN,
// JASA 111(4) (2002) (both from memory).
var Voice = dsp.Spec{
	ID:     "voice",
	Name:   "voice pitch",
	Doc:    "Makes one voice higher or lower and leaves its formants where they are.",
	Source: "Moulines & Charpentier, Speech Communication 9, 1990",
	Params: []dsp.Param{voiceCents},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		m := newMarker(rateHz)
		if s.Get(voiceCents) == 0 {
			return newHold(m.delay()), nil
		}
		return newVoice(m, RatioOf(s.Get(voiceCents))), nil
	},
}

// voice sets grains down one after the other.
type voice struct {
	ratio  float64
	marker *marker
	kernel *kernel
	at     int // frames into the hop
	in     []dsp.Frame
	out    history   // sum of grains
	weight []float64 // sum of their windows, frame by frame of out
	next   float64   // where the next grain is set down
	mark   int       // the mark that was set down last
}

var (
	_ dsp.Processor = (*voice)(nil)
	_ dsp.Delayer   = (*voice)(nil)
	_ dsp.Settler   = (*voice)(nil)
)

// grainFineness reads grains between samples.
var grainFineness = fineness{half: 16, places: 256, beta: 6, cutoff: 0.5}

func newVoice(m *marker, ratio float64) *voice {
	size := m.delay() + 4*m.longest + 2*m.hop
	v := &voice{
		ratio: ratio, marker: m, kernel: newKernel(grainFineness, 1), in: make([]dsp.Frame, m.hop),
		out: newHistory(size), weight: make([]float64, size),
	}
	v.Reset()
	return v
}

// DelayFrames is the latency, the same at every setting.
func (v *voice) DelayFrames() int { return v.marker.delay() }

// SettleFrames is twice the latency: by then no grain of the silence before the
// beginning is left. The grains go on from the first, wherever that was.
func (v *voice) SettleFrames() int { return 2 * v.marker.delay() }

func (v *voice) Reset() {
	v.marker.reset()
	v.at = 0
	clear(v.in)
	first := -v.marker.delay()
	v.out.reset(first, first+len(v.out.frames))
	clear(v.weight)
	v.mark = v.marker.marks.first + 1
	v.next = v.marker.marks.at(v.mark).place
}

func (v *voice) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), len(v.in)-v.at)
		in, out := v.in[v.at:][:n], v.out.frames[v.at:][:n]
		weight := v.weight[v.at:][:n]
		for i, x := range buf[:n] {
			w := 1 / max(weight[i], leastWeight)
			buf[i], in[i] = dsp.Frame{w * out[i][0], w * out[i][1]}, x
		}
		buf = buf[n:]
		v.at += n
		if v.at == len(v.in) {
			v.at = 0
			v.turn()
		}
	}
}

// leastWeight is what the sum of windows is taken for where it is less: in the
// gaps of a voice that is lowered.
const leastWeight = 0.3

// turn takes a hop in, and sets down all grains that are known.
func (v *voice) turn() {
	hop, n := v.marker.hop, v.out.n
	copy(v.out.frames, v.out.frames[hop:])
	clear(v.out.frames[n-hop:])
	copy(v.weight, v.weight[hop:])
	clear(v.weight[n-hop:])
	v.out.base += hop
	v.marker.take(v.in)
	for v.choose() {
		v.grain()
	}
}

// choose moves on to the mark nearest to where the next grain is set down, and
// reports whether it is known.
func (v *voice) choose() bool {
	marks := &v.marker.marks
	for v.mark+2 <= marks.last {
		if next := marks.at(v.mark + 1).place; math.Abs(next-v.next) > math.Abs(marks.at(v.mark).place-v.next) {
			return true
		}
		v.mark++
	}
	return false
}

// grain sets a grain down and moves to the place of the next.
func (v *voice) grain() {
	marks := &v.marker.marks
	before, here, after := marks.at(v.mark-1).place, marks.at(v.mark), marks.at(v.mark+1).place
	rise, fall := here.place-before, after-here.place
	first := int(math.Ceil(v.next - rise))
	last := int(math.Floor(v.next + fall))
	for i := first; i <= last; i++ {
		t := float64(i) - v.next
		along := t / fall
		if t < 0 {
			along = t / rise
		}
		w := 0.5 + 0.5*math.Cos(math.Pi*along)
		x := v.marker.sound.read(v.kernel, here.place+t)
		at := i - v.out.base
		v.out.frames[at][0] += w * x[0]
		v.out.frames[at][1] += w * x[1]
		v.weight[at] += w
	}
	if here.voiced {
		fall /= v.ratio
	}
	v.next += fall
}
