package fault

import (
	"math"

	"strop/dsp"
)

var (
	wowDepth     = dsp.Param{ID: "wowPct", Name: "wow", Unit: "%", Min: 0, Max: 3, Neutral: 0}
	wowRate      = dsp.Param{ID: "wowHz", Name: "wow rate", Unit: "Hz", Min: 0.5, Max: 6, Neutral: 0.5556, Scale: dsp.Log}
	flutterDepth = dsp.Param{ID: "flutterPct", Name: "flutter", Unit: "%", Min: 0, Max: 1, Neutral: 0}
	flutterRate  = dsp.Param{ID: "flutterHz", Name: "flutter rate", Unit: "Hz", Min: 6, Max: 100, Neutral: 10, Scale: dsp.Log}
)

// Flutter plays the sound at a speed that wavers, as a record whose hole is not
// in its middle does (wow) or a tape whose capstan is not round (flutter).
//
//	wowPct      greatest deviation of the speed, slow      0 to 3 %
//	wowHz       how often; 0.5556 Hz is 33⅓ turns a minute 0.5 to 6 Hz
//	flutterPct  greatest deviation, fast                   0 to 1 %
//	flutterHz   how often                                  6 to 100 Hz
//
// Both are sines that begin at the right speed. A deviation of d at f is a
// delay that goes d/(2πf) to and fro: 0.1 % at 4 Hz are 39.79 µs and 1.730
// cents. With both depths 0 nothing is done, to the bit. The delay is that of
// fractional.go, exact to 0.42 of the rate. Latency: 24 frames and what the
// delay swings to either side.
// Source: depth, rate and peak deviation as in AES6-2008.
var Flutter = dsp.Spec{
	ID:     "flutter",
	Name:   "wow and flutter",
	Doc:    "Lets the speed waver, as of a record off its centre or a worn tape machine.",
	Source: "AES6-2008, Method for measurement of weighted peak flutter, for the quantities",
	Params: []dsp.Param{wowDepth, wowRate, flutterDepth, flutterRate},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		f := &flutter{table: sincTable()}
		f.waver[0] = newWaver(rateHz, s.Get(wowRate), s.Get(wowDepth)/100)
		f.waver[1] = newWaver(rateHz, s.Get(flutterRate), s.Get(flutterDepth)/100)
		swing := f.waver[0].frames + f.waver[1].frames
		f.middle = int(math.Ceil(swing)) + leastDelay
		f.still = swing == 0
		f.reel = newReel(float64(f.middle) + swing + 1)
		f.Reset()
		return f, nil
	},
}

// waver is a delay that goes to and fro on a sine.
type waver struct {
	frames float64 // to either side
	turns  float64 // a frame
	turned float64 // turns made so far, below 1
}

func newWaver(rateHz, freqHz, ratio float64) waver {
	return waver{frames: ratio / (2 * math.Pi * freqHz) * rateHz, turns: freqHz / rateHz}
}

// next is by how many frames it is late. Its slope, the deviation of the
// speed, begins at 0.
func (w *waver) next() float64 {
	late := w.frames * math.Cos(2*math.Pi*w.turned)
	if w.turned += w.turns; w.turned >= 1 {
		w.turned--
	}
	return late
}

type flutter struct {
	table  *[sincPlaces]sincRow
	waver  [2]waver
	middle int
	still  bool
	reel   reel
}

var (
	_ dsp.Processor = (*flutter)(nil)
	_ dsp.Delayer   = (*flutter)(nil)
	_ dsp.Settler   = (*flutter)(nil)
)

// DelayFrames is the mean delay.
func (f *flutter) DelayFrames() int { return f.middle }

// SettleFrames is the length of the reel. Where in its swing it is hangs on the
// time since Reset alone.
func (f *flutter) SettleFrames() int { return f.reel.size }

// Reset begins the wavering anew.
func (f *flutter) Reset() {
	f.reel.reset()
	f.waver[0].turned, f.waver[1].turned = 0, 0
}

// Process lets buf waver in place.
func (f *flutter) Process(buf []dsp.Frame) {
	for i, x := range buf {
		f.reel.write(x)
		if f.still {
			buf[i] = f.reel.whole(f.middle)
			continue
		}
		late := f.waver[0].next() + f.waver[1].next()
		buf[i] = f.reel.read(f.table, float64(f.middle+1)+late)
	}
}
