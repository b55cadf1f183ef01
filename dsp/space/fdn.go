package space

import (
	"fmt"
	"math"
	"math/cmplx"
	"sync/atomic"

	"strop/dsp"
)

// FDN is a reverb of sixteen delays that feed each other, for knobs that are
// turned while it sounds. Parameters are those of Hall, with a decay of 0.8
// to 4 s and a trebleRatio from 0.4; seed is not one of them.
//
// Two rows of all-passes make each input dense; a Hadamard matrix mixes the
// delays, of 15 to 46 ms; each delay has a filter of its own whose loss is that
// of the decay at every frequency. drrDB is met within 1 dB. No latency.
//
// Source: J.-M. Jot, A. Chaigne, Digital delay networks for designing artificial
// reverberators, AES 90th Convention (1991); S. J. Schlecht, E. A. P. Habets,
// Accurate reverberation time control in feedback delay networks, DAFx-17
// (2017); M. R. Schroeder, JAES 10(3) (1962), for the all-passes.
var FDN = dsp.Spec{
	ID:     "fdn",
	Name:   "delay network",
	Doc:    "Adds the reverb of a network of delays.",
	Source: "J.-M. Jot, A. Chaigne, AES 90th Convention, 1991; S. J. Schlecht, E. A. P. Habets, DAFx-17, 2017",
	Params: fdnParams,
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return newNetwork(rateHz, s), nil
	},
}

var fdnDecay = dsp.Param{ID: "decayS", Name: "decay time", Unit: "s", Min: 0.8, Max: 4, Neutral: 1.2, Scale: dsp.Log}

var fdnTreble = dsp.Param{ID: "trebleRatio", Name: "treble decay", Min: 0.4, Max: 1, Neutral: 0.5, Scale: dsp.Log}

var fdnParams = []dsp.Param{fdnDecay, bassParam, fdnTreble, predelayParam, widthParam, ratioParam}

const (
	lines   = 16
	stretch = 64   // frames between two sets of coefficients; no delay is shorter
	glideS  = 0.05 // seconds in which a knob arrives
)

// lineMS are the lengths of the delays at any rate, in a geometric row that is
// shaken a little.
var lineMS = [lines]float64{
	14.64, 15.79, 17.24, 18.48, 20.55, 21.71, 24.01, 25.58, 27.03, 29.86, 31.21, 33.18, 35.63, 39.56, 43.50, 45.56,
}

// Signs with which the inputs enter the delays and the delays are heard: of no
// order, half of them each way.
var (
	enters = [2][lines]float64{
		{1, 1, -1, 1, -1, -1, 1, -1, 1, 1, -1, -1, -1, 1, 1, -1},
		{1, -1, -1, 1, 1, -1, -1, -1, 1, -1, 1, 1, -1, 1, -1, 1},
	}
	leaves = [2][lines]float64{
		{1, -1, 1, 1, -1, 1, 1, -1, -1, 1, -1, -1, 1, 1, -1, -1},
		{1, 1, 1, -1, -1, 1, -1, 1, -1, -1, 1, -1, 1, -1, 1, -1},
	}
)

// levels of what each output hears of the network's output on its own side and
// on the other.
type levels struct{ own, other float64 }

// knobs are everything of a setting that may be turned.
type knobs struct {
	filters [lines]attenuation
	levels  levels
}

// Network is FDN with knobs that may be turned while it sounds.
//
// After Turn the filters and the level move in a straight line and have arrived
// 50 ms later; another Turn on the way starts from where they are.
type Network struct {
	rateHz     float64
	predelayMS float64
	ramp       int // stretches of a whole movement
	target     atomic.Pointer[knobs]

	heading  *knobs
	from     knobs
	now      knobs // at the end of the stretch
	before   knobs // at its beginning
	moving   bool  // they differ
	moved    int   // stretches of the movement that are done
	at       int   // frames into the stretch
	predelay [2]line
	diffuse  [2]diffuser
	delays   [lines]line
	memories [lines]memory
	work     [lines][stretch]float64
	in       [2][stretch]float64
}

var (
	_ dsp.Processor = (*Network)(nil)
	_ Reverberator  = (*Network)(nil)
)

// NewNetwork is an FDN that can be turned.
func NewNetwork(rateHz float64, s dsp.Setting) (*Network, error) {
	p, err := FDN.New(rateHz, s)
	if err != nil {
		return nil, err
	}
	return p.(*Network), nil
}

func newNetwork(rateHz float64, s dsp.Setting) *Network {
	f := &Network{rateHz: rateHz, predelayMS: s.Get(predelayParam), ramp: max(1, int(glideS*rateHz/stretch+0.5))}
	for i := range f.delays {
		f.delays[i].x = make([]float64, lineFrames(rateHz, i))
	}
	for side := range 2 {
		f.predelay[side].x = make([]float64, int(math.Round(f.predelayMS*rateHz/1000)))
		f.diffuse[side] = newDiffuser(rateHz, 1+0.07*float64(side))
	}
	f.target.Store(newKnobs(rateHz, s))
	f.Reset()
	return f
}

func lineFrames(rateHz float64, i int) int { return int(math.Round(lineMS[i] * rateHz / 1000)) }

func newKnobs(rateHz float64, s dsp.Setting) *knobs {
	var k knobs
	decayS := func(freqHz float64) float64 {
		return decayAt(freqHz, s.Get(fdnDecay), s.Get(bassParam), s.Get(fdnTreble))
	}
	all := 0
	for i := range k.filters {
		k.filters[i] = designAttenuation(rateHz, lineFrames(rateHz, i), decayS)
		all += lineFrames(rateHz, i)
	}
	if s.Get(ratioParam) < ratioParam.Max {
		energy := 2 * heardEnergy(rateHz, float64(all), decayS)
		width := s.Get(widthParam) / 100
		ratio := dsp.FromDB(-s.Get(ratioParam)) / math.Sqrt(energy*(1+width*width)/2)
		k.levels = levels{ratio * (1 + width) / 2, ratio * (1 - width) / 2}
	}
	return &k
}

// heardEnergy is what an output hears of a click of energy 1: a sixteenth of
// what is left of it, each time that it has passed a mean delay. It is the mean
// over the spectrum of a click.
func heardEnergy(rateHz, frames float64, decayS func(freqHz float64) float64) float64 {
	const n = 64
	sum := 0.0
	for i := range n {
		tau := rateHz * decayS(min((float64(i)+0.5)/n*rateHz/2, 17000)) / (6 * math.Ln10)
		sum += 1 / math.Expm1(frames/lines/tau)
	}
	return sum / n / lines
}

// Turn sets the knobs to s; what s does not mention goes to its neutral value.
// It may be called while another goroutine is in Process. The error is that of
// FDN.New, or that the pre-delay cannot be turned; then nothing moves.
func (f *Network) Turn(s dsp.Setting) error {
	if err := s.Check(fdnParams); err != nil {
		return fmt.Errorf("the knobs stay where they are: fdn: %w", err)
	}
	if s.Get(predelayParam) != f.predelayMS {
		return fmt.Errorf("the knobs stay where they are: fdn: the pre-delay cannot be turned; build a new one")
	}
	f.target.Store(newKnobs(f.rateHz, s))
	return nil
}

// Reset forgets what was heard, with the knobs where they were last turned to.
func (f *Network) Reset() {
	f.heading = f.target.Load()
	f.now, f.before, f.moving = *f.heading, *f.heading, false
	f.moved, f.at, f.memories = f.ramp, 0, [lines]memory{}
	for i := range f.delays {
		f.delays[i].reset()
	}
	for side := range 2 {
		f.predelay[side].reset()
		f.diffuse[side].reset()
	}
}

// Response is the answer to a click on each input, as the knobs were last
// turned, without the direct sound.
func (f *Network) Response() *Response {
	k := f.target.Load()
	if k.levels == (levels{}) {
		return &Response{}
	}
	g := newNetwork(f.rateHz, dsp.Setting{predelayParam.ID: f.predelayMS})
	g.target.Store(k)
	longest := k.longestS(f.rateHz)*tailEndDB/60 + f.predelayMS/1000 + 0.1
	var r Response
	for side := range 2 {
		g.Reset()
		buf := make([]dsp.Frame, int(longest*f.rateHz))
		buf[0][side] = 1
		g.Process(buf)
		buf[0][side] -= 1
		r[side] = apart(buf)
	}
	return &r
}

// longestS is the decay time of the first delay where it is longest.
func (k *knobs) longestS(rateHz float64) float64 {
	longest := 0.0
	for b := range Bands {
		lossDB := -dsp.ToDB(cmplx.Abs(k.filters[0].response(rateHz, min(BandHz(b), 0.45*rateHz))))
		longest = max(longest, 60*float64(lineFrames(rateHz, 0))/(rateHz*lossDB))
	}
	return longest
}

// apart is the two channels of a sound.
func apart(buf []dsp.Frame) (paths [2][]float64) {
	for side := range 2 {
		paths[side] = make([]float64, len(buf))
		for i := range buf {
			paths[side][i] = buf[i][side]
		}
	}
	return paths
}

// Process adds the reverb to buf in place.
func (f *Network) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		if f.at == 0 {
			f.advance()
		}
		n := min(len(buf), stretch-f.at)
		f.run(buf[:n])
		buf = buf[n:]
		f.at = (f.at + n) % stretch
	}
}

// advance begins a stretch.
func (f *Network) advance() {
	for i := range f.memories {
		f.memories[i].clear()
	}
	if f.moving {
		f.before = f.now
	}
	if k := f.target.Load(); k != f.heading {
		f.from, f.heading, f.moved = f.now, k, 0
	}
	if f.moving = f.moved < f.ramp; !f.moving {
		return
	}
	if f.moved++; f.moved == f.ramp {
		f.now = *f.heading
		return
	}
	f.now.between(&f.from, f.heading, float64(f.moved)/float64(f.ramp))
}

// between sets k to part of the way from one to another.
func (k *knobs) between(from, to *knobs, part float64) {
	for i := range k.filters {
		for j := range k.filters[i] {
			k.filters[i][j] = from.filters[i][j].towards(to.filters[i][j], part)
		}
	}
	k.levels.own = from.levels.own + part*(to.levels.own-from.levels.own)
	k.levels.other = from.levels.other + part*(to.levels.other-from.levels.other)
}

// run takes the frames of a stretch, or a part of it, through the network.
func (f *Network) run(buf []dsp.Frame) {
	left, right := f.in[0][:len(buf)], f.in[1][:len(buf)]
	for i, x := range buf {
		left[i], right[i] = x[0], x[1]
	}
	for side := range 2 {
		x := f.in[side][:len(buf)]
		f.predelay[side].delay(x)
		f.diffuse[side].run(x)
	}
	for i := range f.delays {
		x := f.work[i][:len(buf)]
		f.delays[i].read(x)
		if f.moving {
			f.memories[i].glide(x, &f.before.filters[i], &f.now.filters[i], f.at)
		} else {
			f.memories[i].run(x, &f.now.filters[i])
		}
	}
	f.listen(buf)
	f.mix(len(buf))
	for i := range f.delays {
		f.delays[i].write(f.work[i][:len(buf)], left, right, enters[0][i]/4, enters[1][i]/4)
	}
}

// listen adds what the delays give to the direct sound.
func (f *Network) listen(buf []dsp.Frame) {
	var sums [2][stretch]float64
	for i := range f.work {
		x, l, r := f.work[i][:len(buf)], leaves[0][i]/4, leaves[1][i]/4
		left, right := sums[0][:len(x)], sums[1][:len(x)]
		for n, v := range x {
			left[n] += l * v
			right[n] += r * v
		}
	}
	own, other := f.before.levels.own, f.before.levels.other
	ownStep, otherStep := (f.now.levels.own-own)/stretch, (f.now.levels.other-other)/stretch
	for n := range buf {
		part := float64(f.at + n + 1)
		a, b := own+part*ownStep, other+part*otherStep
		buf[n][0] += a*sums[0][n] + b*sums[1][n]
		buf[n][1] += a*sums[1][n] + b*sums[0][n]
	}
}

// mix multiplies the sixteen signals with a Hadamard matrix, four times too
// large.
func (f *Network) mix(n int) {
	for half := 1; half < lines; half *= 2 {
		for i := range lines {
			if i&half != 0 {
				continue
			}
			a, b := f.work[i][:n], f.work[i+half][:n]
			for k, x := range a {
				y := b[k]
				a[k], b[k] = x+y, x-y
			}
		}
	}
}

// line is a delay.
type line struct {
	x  []float64
	at int
}

func (d *line) reset() {
	clear(d.x)
	d.at = 0
}

// read copies out what is due, no more than the line is long.
func (d *line) read(out []float64) {
	n := copy(out, d.x[d.at:])
	copy(out[n:], d.x)
}

// write takes the same number of frames in: a quarter of the mixed ones, and
// the inputs. What has decayed below −2000 dB is dropped.
func (d *line) write(mixed, left, right []float64, l, r float64) {
	x, at := d.x, d.at
	left, right = left[:len(mixed)], right[:len(mixed)]
	for i, v := range mixed {
		v = v/4 + l*left[i] + r*right[i]
		if math.Abs(v) < 1e-100 {
			v = 0
		}
		x[at] = v
		if at++; at == len(x) {
			at = 0
		}
	}
	d.at = at
}

// delay delays x by the length of the line.
func (d *line) delay(x []float64) {
	if len(d.x) == 0 {
		return
	}
	at := d.at
	for i, v := range x {
		x[i], d.x[at] = d.x[at], v
		if at++; at == len(d.x) {
			at = 0
		}
	}
	d.at = at
}
