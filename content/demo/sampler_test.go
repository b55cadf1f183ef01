package demo

import (
	"math"
	"math/rand/v2"
	"testing"

	"strop/dsp"
)

// A tone played at another speed is the same tone at another pitch, and
// nothing else: level within 0.05 dB, everything else 80 dB down. Linear
// interpolation would lose 3.3 dB of 15 kHz and leave an image 16 dB below
// 12 kHz.
func TestSamplerKeepsATone(t *testing.T) {
	for _, c := range []struct{ toneHz, rate float64 }{
		{100, 1.01}, {1000, 0.99}, {12000, 1.01}, {15000, 1.003}, {15000, 0.97}, {18000, 1.0001}, {6000, 1.9}, {440, 0.5}, {9000, 0.53},
	} {
		got := played(c.toneHz, c.rate)
		levelDB, restDB := fitTone(got, c.toneHz*c.rate)
		if math.Abs(levelDB) > 0.05 || restDB > -80 {
			t.Errorf("%g Hz at %g: level %.3f dB, all else %.1f dB", c.toneHz, c.rate, levelDB, restDB)
		}
	}
}

// A recording that ends at 10 kHz is played with a third of the taps, as well:
// level within 0.05 dB, images 80 dB down, up to an octave higher.
func TestSamplerOfDarkRecordings(t *testing.T) {
	for _, rate := range []float64{0.5, 0.97, 1.003, 1.41, 2} {
		for _, toneHz := range []float64{50, 1000, 4000, 7000, darkHz} {
			levelDB, restDB := fitTone(playedFrom(toneHz, rate, darkHz), toneHz*rate)
			if math.Abs(levelDB) > 0.05 || restDB > -80 {
				t.Errorf("%g Hz at %g: level %.3f dB, all else %.1f dB", toneHz, rate, levelDB, restDB)
			}
		}
	}
	var ks kernels
	if k := ks.forRate(1, darkHz); k.half != darkHalf || ks.forRate(1, 0) == k || ks.forRate(2.1, darkHz) == k || ks.forRate(1, 15000) == k {
		t.Error("the short kernel is not for everything")
	}
}

// A drum is moved by half a frame and 1.9 cents at most, and then no place
// lies between two sets of taps.
func TestSnap(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 1000 {
		v := strike{start: 1000 * r.Float64(), rate: 0.9 + 0.2*r.Float64()}
		was := v
		v.snap()
		if math.Abs(v.start-was.start) > 0.5 || math.Abs(cents(v.rate, was.rate)) > 1.9 {
			t.Fatalf("%+v becomes %+v", was, v)
		}
		for i := range 100 {
			if at := (float64(i+1000) - v.start) * v.rate * kernelPhases; at != math.Trunc(at) {
				t.Fatalf("%+v: frame %d lies at %g", v, i, at)
			}
		}
	}
}

// What would come to lie above half the rate is left out, not folded back.
func TestSamplerDoesNotFold(t *testing.T) {
	for _, c := range []struct{ toneHz, rate float64 }{{20000, 1.5}, {16000, 2}, {20000, 1.4}} {
		sum := 0.0
		got := played(c.toneHz, c.rate)
		for _, v := range got {
			sum += 2 * v * v / float64(len(got))
		}
		if levelDB := dsp.PowerToDB(sum); levelDB > -80 {
			t.Errorf("%g Hz at %g leaves %.1f dB", c.toneHz, c.rate, levelDB)
		}
	}
}

// played is the middle of a tone of amplitude 1 through a voice.
func played(toneHz, rate float64) []float64 { return playedFrom(toneHz, rate, 0) }

// playedFrom is that of a recording that ends at limitHz.
func playedFrom(toneHz, rate, limitHz float64) []float64 {
	x := make([]float64, 24000)
	for i := range x {
		x[i] = math.Sin(2*math.Pi*toneHz*float64(i)/rateHz + 0.3)
	}
	dst := newTrack(1, 12000)
	v := strike{sample: track{x}, start: 10.37, stop: math.Inf(1), rate: rate, ratio: 1, softHz: math.Inf(1), limitHz: limitHz}
	v.addTo(dst, new(kernels))
	return dst[0][500:min(11000, int(24000/rate)-500)]
}

// fitTone is the level of the tone in x, by least squares, and of all else.
func fitTone(x []float64, toneHz float64) (levelDB, restDB float64) {
	var ss, sc, cc, xs, xc, xx float64
	for i, v := range x {
		s, c := math.Sincos(2 * math.Pi * toneHz * float64(i) / rateHz)
		ss, sc, cc = ss+s*s, sc+s*c, cc+c*c
		xs, xc, xx = xs+v*s, xc+v*c, xx+v*v
	}
	det := ss*cc - sc*sc
	a, b := (xs*cc-xc*sc)/det, (xc*ss-xs*sc)/det
	return dsp.ToDB(math.Hypot(a, b)), dsp.PowerToDB((xx - a*xs - b*xc) / xx)
}

// A damped note is gone soon, one that rings is not; both ends are faded; each
// channel of a sample goes its own way.
func TestStrikeIsDamped(t *testing.T) {
	x, y := make([]float64, 48000), make([]float64, 48000)
	for i := range x {
		x[i] = 1
	}
	dst := newTrack(1, 48000)
	strike{sample: track{x}, start: 100, stop: 10000, rate: 1, ratio: 0.5, softHz: math.Inf(1)}.addTo(dst, new(kernels))
	if v := dst[0][9000]; math.Abs(v-0.5) > 1e-9 {
		t.Errorf("before it is damped: %v", v)
	}
	if v := dst[0][10000+1440]; math.Abs(v-0.5*math.Exp(-1)) > 0.001 {
		t.Errorf("30 ms after: %v, want 1/e", v)
	}
	if v := dst[0][30000]; v != 0 {
		t.Errorf("long after: %v", v)
	}
	whole := newTrack(1, 48000) // as long as it is, and cut nowhere
	strike{sample: track{x}, stop: math.Inf(1), rate: 1.5, ratio: 1, softHz: math.Inf(1)}.addTo(whole, new(kernels))
	for i, last := 0, 0.0; i < len(whole[0]); i++ {
		if step := math.Abs(whole[0][i] - last); step > 0.09 || i > 32000-24 && step > 0.01 {
			t.Errorf("a step of %.3f at frame %d", step, i)
		}
		last = whole[0][i]
	}
	stereo := newTrack(2, 2000)
	strike{sample: track{x, y}, stop: math.Inf(1), rate: 1, ratio: 1, softHz: math.Inf(1)}.addTo(stereo, new(kernels))
	if l, r := stereo[0][1000], stereo[1][1000]; math.Abs(l-1) > 1e-9 || r != 0 {
		t.Errorf("a stereo sample: %v %v", l, r)
	}
}
