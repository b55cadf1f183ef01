// Package dsptest holds any processor to the contract of dsp.Processor, in the
// manner of testing/fstest and testing/iotest, and makes test signals.
package dsptest

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/dsp"
)

// Rates at which Check builds every processor, in Hz.
var Rates = []float64{44100, 48000, 96000, 192000}

const (
	randomSettings = 6    // per rate, besides the neutral and the given ones
	length         = 6000 // frames of each test signal
	nullDB         = -120
)

// Check reports every way in which the processors that spec builds break the
// contract of dsp.Processor. It tries the neutral setting, the given settings
// and a few drawn at random from Params, always the same ones, at each of
// Rates:
//
//   - any split into blocks, empty ones too, gives the same bits;
//   - a second one built alike gives the same bits, whatever the first is doing;
//   - nothing outside the buffer is touched, nothing of it is kept, nothing of
//     the setting is read after building;
//   - after Reset it is as new, also after infinities and NaN;
//   - silence, denormals and +60 dB of overload come out finite;
//   - Process does not allocate;
//   - DelayFrames does not change;
//   - the neutral setting returns its input, DelayFrames later, with a residue
//     below −120 dB, for a signal that peaks at −12 dBFS;
//   - where spec has a Path, the neutral setting has that response instead, and
//     its gain is 1 to 1e-12 at every frequency tried;
//   - where spec has a Response, the transform of the impulse response, from
//     frame DelayFrames on, equals it in each channel to 1e-6 of the greater
//     of 1 and its size, and neither channel reaches the other; where it has a
//     Matrix, what comes out of each channel equals that.
//
// A given setting must build at every rate; of the random ones some may be
// refused by Build, not all. Check counts allocations, so it must not run in a
// parallel test.
func Check(t testing.TB, spec dsp.Spec, settings ...dsp.Setting) {
	t.Helper()
	if err := spec.Validate(); err != nil {
		t.Errorf("declaration: %v", err)
		return
	}
	for _, rateHz := range Rates {
		checkAt(t, spec, rateHz, append([]dsp.Setting{{}}, settings...))
	}
}

func checkAt(t testing.TB, spec dsp.Spec, rateHz float64, fixed []dsp.Setting) {
	t.Helper()
	sound := excitation(rateHz)
	for i, set := range fixed {
		if _, err := spec.New(rateHz, set); err != nil {
			t.Errorf("at %g Hz, {%s}: cannot be built: %v", rateHz, set.Text(spec.Params), err)
			continue
		}
		(&contract{t, spec, rateHz, set, i == 0, sound}).check()
	}
	if len(spec.Params) == 0 {
		return
	}
	built := 0
	r := rand.New(rand.NewPCG(uint64(rateHz), 3))
	for range randomSettings {
		set := randomSetting(r, spec.Params)
		if _, err := spec.New(rateHz, set); err == nil {
			(&contract{t, spec, rateHz, set, false, sound}).check()
			built++
		}
	}
	if built == 0 {
		t.Errorf("at %g Hz: Build refuses every setting drawn at random from Params", rateHz)
	}
}

func randomSetting(r *rand.Rand, params []dsp.Param) dsp.Setting {
	set := dsp.Setting{}
	for _, p := range params {
		set[p.ID] = p.At(r.Float64())
	}
	return set
}

// contract is one processor's worth of checks.
type contract struct {
	t       testing.TB
	spec    dsp.Spec
	rateHz  float64
	set     dsp.Setting
	neutral bool
	sound   []dsp.Frame // never changed
}

func (c *contract) check() {
	c.t.Helper()
	defer func() {
		if r := recover(); r != nil {
			c.errorf("panics: %v", r)
		}
	}()
	want := c.checkSplits()
	c.checkTwins(want)
	c.checkReset(want)
	c.checkFinite()
	c.checkAllocations()
	switch {
	case c.neutral && c.spec.Path != nil:
		c.checkPath()
	case c.neutral:
		c.checkNull()
	}
	if c.spec.Response != nil {
		c.checkResponse(alike(c.spec.Response))
	}
	if c.spec.Matrix != nil {
		c.checkResponse(c.spec.Matrix)
	}
}

func (c *contract) errorf(format string, args ...any) {
	c.t.Helper()
	c.t.Errorf("%s at %g Hz, {%s}: %s", c.spec.ID, c.rateHz, c.set.Text(c.spec.Params), fmt.Sprintf(format, args...))
}

// build makes a processor from a setting that is emptied at once.
func (c *contract) build() dsp.Processor {
	set := maps.Clone(c.set)
	p, err := c.spec.New(c.rateHz, set)
	if err != nil {
		panic(err)
	}
	clear(set)
	return p
}

// excitation is a mix at −12 dBFS, a second burst of it at +12 dBFS, noise and
// silence: it drives whatever has a threshold.
func excitation(rateHz float64) []dsp.Frame {
	buf := Music(rateHz, 1, length)
	dsp.Gain(0.5).Process(buf)
	dsp.Gain(16).Process(buf[length/4 : length/2])
	copy(buf[length/2:], Noise(2, 0.3, length/4))
	clear(buf[7*length/8:])
	return buf
}

// whole is what p makes of the excitation in one block.
func (c *contract) whole(p dsp.Processor) []dsp.Frame {
	buf := slices.Clone(c.sound)
	p.Process(buf)
	return buf
}

// checkSplits compares one block with many, and returns what the one gave.
func (c *contract) checkSplits() []dsp.Frame {
	c.t.Helper()
	p, err := c.spec.New(c.rateHz, c.set)
	if err != nil {
		panic(err)
	}
	delay := dsp.DelayFrames(p)
	want := c.whole(p)
	if delay < 0 || dsp.DelayFrames(p) != delay {
		c.errorf("states a delay of %d frames, later %d", delay, dsp.DelayFrames(p))
	}
	if i := firstDifference(c.inPlace(), want); i >= 0 {
		c.errorf("output depends on how the input is split into blocks, or on the setting after building: frame %d differs", i)
	}
	if i := firstDifference(c.byCopies(), want); i >= 0 {
		c.errorf("keeps something of the buffer: frame %d differs when each block is overwritten after use", i)
	}
	return want
}

// inPlace processes the excitation in blocks of 0 to 300 frames, each a part
// of one array with guards at both ends.
func (c *contract) inPlace() []dsp.Frame {
	c.t.Helper()
	const guard = 64
	sentinel := dsp.Frame{1234.5, -5432.1}
	array := make([]dsp.Frame, guard+length+guard)
	for i := range array {
		array[i] = sentinel
	}
	buf := array[guard : guard+length]
	copy(buf, c.sound)
	p := c.build()
	r := rand.New(rand.NewPCG(4, 4))
	for at := 0; at < length; {
		n := min([]int{0, 1, 2, 3, 17, 64, r.IntN(301)}[r.IntN(7)], length-at)
		p.Process(buf[at : at+n])
		at += n
	}
	p.Process(nil)
	for i := range guard {
		if array[i] != sentinel || array[guard+length+i] != sentinel {
			c.errorf("writes outside the buffer")
			break
		}
	}
	return buf
}

// byCopies processes the excitation in blocks of 48 frames through one small
// buffer that is overwritten after each.
func (c *contract) byCopies() []dsp.Frame {
	buf, small := slices.Clone(c.sound), make([]dsp.Frame, 48)
	p := c.build()
	for at := 0; at < length; at += len(small) {
		n := copy(small, buf[at:])
		p.Process(small[:n:n])
		copy(buf[at:], small[:n])
		for i := range small {
			small[i] = dsp.Frame{math.NaN(), 1e9}
		}
	}
	return buf
}

// checkTwins runs two processors in turn on different signals.
func (c *contract) checkTwins(want []dsp.Frame) {
	c.t.Helper()
	buf, other := slices.Clone(c.sound), Noise(5, 0.7, length)
	p, q := c.build(), c.build()
	for at := 0; at < length; at += 100 {
		q.Process(other[at : at+100])
		p.Process(buf[at : at+100])
	}
	if i := firstDifference(buf, want); i >= 0 {
		c.errorf("another one built alike gives something else: frame %d differs", i)
	}
	if a, b := dsp.DelayFrames(p), dsp.DelayFrames(q); a != b {
		c.errorf("states a delay of %d frames, another one built alike %d", a, b)
	}
}

// checkReset soils a processor, with sound and with what is not a number, and
// expects it to be as new after Reset.
func (c *contract) checkReset(want []dsp.Frame) {
	c.t.Helper()
	broken := Noise(7, 1, 3000)
	for i, x := range []float64{math.Inf(1), math.NaN(), math.Inf(-1), math.MaxFloat64} {
		broken[100*i] = dsp.Frame{x, -x}
	}
	for what, dirt := range map[string][]dsp.Frame{"sound": Noise(6, 1, 3000), "infinities and NaN": broken} {
		p := c.build()
		p.Process(dirt)
		p.Reset()
		if i := firstDifference(c.whole(p), want); i >= 0 {
			c.errorf("after %s Reset does not make it as new: frame %d differs", what, i)
		}
	}
}

func (c *contract) checkFinite() {
	c.t.Helper()
	tiny := Noise(8, 1, length)
	dsp.Gain(math.SmallestNonzeroFloat64 * 1000).Process(tiny)
	for what, buf := range map[string][]dsp.Frame{
		"silence": make([]dsp.Frame, length), "denormals": tiny, "overload": Noise(9, 1000, length),
	} {
		p := c.build()
		for range 2 { // sound in, then more of it through a processor that has run
			p.Process(buf)
			if i := firstInfinite(buf); i >= 0 {
				c.errorf("%s makes frame %d %v", what, i, buf[i])
				break
			}
		}
	}
}

func (c *contract) checkAllocations() {
	c.t.Helper()
	p, buf, at := c.build(), make([]dsp.Frame, 512), 0
	n := testing.AllocsPerRun(10, func() {
		copy(buf, c.sound[at:])
		at += len(buf)
		p.Process(buf)
	})
	if n > 0 {
		c.errorf("Process allocates %g times a call", n)
	}
}

func (c *contract) checkNull() {
	c.t.Helper()
	p := c.build()
	delay := dsp.DelayFrames(p)
	in := append(Music(c.rateHz, 10, length), make([]dsp.Frame, max(delay, 0))...)
	dsp.Gain(0.5).Process(in)
	out := slices.Clone(in)
	p.Process(out)
	var signal, residue float64
	for i := range length {
		for side := range 2 {
			signal += in[i][side] * in[i][side]
			d := out[i+delay][side] - in[i][side]
			residue += d * d
		}
	}
	if level := dsp.PowerToDB(residue / signal); !(level < nullDB) {
		c.errorf("the neutral setting leaves a residue of %.1f dB after the stated delay of %d frames", level, delay)
	}
}

func firstDifference(a, b []dsp.Frame) int {
	for i := range a {
		for side := range 2 {
			if math.Float64bits(a[i][side]) != math.Float64bits(b[i][side]) {
				return i
			}
		}
	}
	return -1
}

func firstInfinite(buf []dsp.Frame) int {
	for i := range buf {
		if d := buf[i][0] - buf[i][0] + buf[i][1] - buf[i][1]; d != 0 { // NaN for Inf and NaN
			return i
		}
	}
	return -1
}
