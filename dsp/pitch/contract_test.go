package pitch_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/pitch"
)

// The contract of dsp.Processor on a sound that is longer than the latency,
// which the one that dsptest.Check uses is not: any split into blocks gives the
// same bits, Reset makes it as new, nothing is allocated.
func TestContractOverTheLatency(t *testing.T) {
	const rateHz = 44100
	x := append(buzz(rateHz, 147, rateHz/2), dsptest.Music(rateHz, 1, rateHz)...)
	for _, c := range []struct {
		spec  dsp.Spec
		cents float64
	}{{pitch.Shift, -1200}, {pitch.Shift, 20}, {pitch.Shift, 1200}, {pitch.Voice, -600}, {pitch.Voice, 8}, {pitch.Voice, 600}} {
		p, err := c.spec.New(rateHz, dsp.Setting{"cents": c.cents})
		if err != nil {
			t.Fatal(err)
		}
		whole := slices.Clone(x)
		p.Process(whole)
		if e := energy(whole) / energy(x); e < 0.2 || e > 2 {
			t.Errorf("%s by %g cents: %.2f of the energy comes out", c.spec.ID, c.cents, e)
		}
		dirt := dsptest.Noise(2, 100, 3000)
		dirt[1000] = dsp.Frame{math.NaN(), math.Inf(1)}
		p.Process(dirt)
		p.Process(make([]dsp.Frame, 30000))
		p.Reset()
		split, r := slices.Clone(x), rand.New(rand.NewPCG(1, 1))
		for at := 0; at < len(split); {
			n := min(r.IntN(3000), len(split)-at)
			p.Process(split[at : at+n])
			at += n
		}
		for i := range whole {
			if whole[i] != split[i] {
				t.Errorf("%s by %g cents: frame %d differs in blocks, after Reset", c.spec.ID, c.cents, i)
				break
			}
		}
		if n := testing.AllocsPerRun(1, func() { p.Process(split) }); n != 0 {
			t.Errorf("%s: Process allocates %g times", c.spec.ID, n)
		}
	}
}

// At every rate and at the ends of every range something comes out, and as much
// as it should.
func TestEveryRate(t *testing.T) {
	for _, rateHz := range []float64{dsp.MinRateHz, 11025, 32000, 48000, 192000, dsp.MaxRateHz} {
		x := dsptest.Sine(rateHz, 300, 0.5, 0, int(rateHz))
		for _, c := range []struct {
			spec dsp.Spec
			set  dsp.Setting
		}{
			{pitch.Shift, dsp.Setting{"cents": -1200}}, {pitch.Shift, dsp.Setting{"cents": 0.01}}, {pitch.Shift, dsp.Setting{"cents": 1200}},
			{pitch.Voice, dsp.Setting{"cents": -600}}, {pitch.Voice, dsp.Setting{"cents": 600}}, {pitch.TimeShift, dsp.Setting{"shiftMS": -250}},
		} {
			y := processed(t, c.spec, rateHz, c.set, x)
			from, to := len(x)*4/10, len(x)*6/10
			if e := dsp.PowerToDB(energy(y[from:to]) / energy(x[from:to])); math.Abs(e) > 6 { // a sine has no formant to go to
				t.Errorf("%s, %v at %g Hz: %.1f dB", c.spec.ID, c.set, rateHz, e)
			}
		}
		for _, ratio := range []float64{0.5, 0.999, 2} {
			y := stretched(t, x[:len(x)/2], rateHz, ratio)
			if e := dsp.PowerToDB(energy(y) / energy(x[:len(x)/2]) / ratio); math.Abs(e) > 1 {
				t.Errorf("stretched by %g at %g Hz: %.1f dB", ratio, rateHz, e)
			}
		}
	}
}
