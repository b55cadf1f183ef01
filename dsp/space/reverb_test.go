package space_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/measure"
	"strop/dsp/space"
)

// reverbs is every reverb, and the octave bands in which its decay is held to
// the setting: a spring carries nothing above 4 kHz, and in a room the air
// decides at 16 kHz.
var reverbs = []struct {
	spec       dsp.Spec
	decaysS    []float64
	topHz      float64
	settled    float64 // tolerance of drrDB, in dB
	afterOnset int     // ms by which the response is dense
}{
	{space.Hall, []float64{0.3, 0.8, 2}, 17000, 1e-9, 60},
	{space.Chamber, []float64{0.3, 0.8, 2}, 17000, 1e-9, 30},
	{space.Plate, []float64{0.5, 1, 2}, 17000, 1e-9, 15},
	{space.Spring, []float64{1.5, 2, 3}, 2500, 1e-9, 30},
	{space.Room, []float64{0.3, 0.8, 1.2}, 9000, 1e-9, 60},
	{space.FDN, []float64{0.8, 1.2, 2, 4}, 9000, 1, 60},
}

func build(t testing.TB, spec dsp.Spec, rateHz float64, s dsp.Setting) space.Reverberator {
	t.Helper()
	p, err := spec.New(rateHz, s)
	if err != nil {
		t.Fatal(err)
	}
	return p.(space.Reverberator)
}

// Every reverb decays as it is set, within 5 % in every octave from 250 Hz and
// 10 % at 125 Hz, by the meter (ISO 3382-1 T30); and it is dense (Abel & Huang,
// 0.9) well within 80 ms.
func TestReverbsDecayAsSet(t *testing.T) {
	for _, v := range reverbs {
		worst, worstLow, densest := 0.0, 0.0, 0
		for i, decayS := range v.decaysS {
			bass, treble := []float64{1, 1.1, 1.3, 0.8}[i], []float64{0.7, 0.5, 0.4, 0.5}[i]
			r := build(t, v.spec, 48000, dsp.Setting{"decayS": decayS, "bassRatio": bass, "trebleRatio": treble, "drrDB": 0}).Response()
			want := space.Decays(decayS, bass, treble)
			for in := range r {
				for out, h := range r[in] {
					bands, err := measure.OctaveDecays(h, 48000)
					if err != nil {
						t.Fatal(err)
					}
					for b := 1; b < len(bands) && bands[b].FreqHz < v.topHz; b++ {
						off, tolerance := math.Abs(bands[b].T30S/want[b]-1), 0.05
						if b == 1 {
							tolerance = 0.1
							worstLow = max(worstLow, off)
						} else {
							worst = max(worst, off)
						}
						if !(off <= tolerance) {
							t.Errorf("%s, %g s, path %d%d, %.0f Hz: T30 %.3f s, set %.3f: %.1f %%",
								v.spec.ID, decayS, in, out, bands[b].FreqHz, bands[b].T30S, want[b], 100*off)
						}
					}
					dense := measure.DenseFromMS(measure.EchoDensity(h, 48000), 0.9)
					densest = max(densest, dense)
					if dense < 0 || dense > v.afterOnset {
						t.Errorf("%s, %g s: echo density 0.9 after %d ms", v.spec.ID, decayS, dense)
					}
				}
			}
		}
		t.Logf("%s: decay within %.1f %%, at 125 Hz %.1f %%; dense after %d ms", v.spec.ID, 100*worst, 100*worstLow, densest)
	}
}

// What is heard of a click on one input, after the direct sound, has the energy
// that drrDB asks for, at any width and pre-delay; and Response says what that
// is.
func TestDirectToReverberantRatio(t *testing.T) {
	for _, v := range reverbs {
		for _, s := range []dsp.Setting{{"drrDB": 6}, {"drrDB": -6, "widthPct": 30}, {"drrDB": 20, "widthPct": 0, "predelayMS": 50}} {
			s = s.With("decayS", v.decaysS[1])
			p := build(t, v.spec, 44100, s)
			r, delay := p.Response(), dsp.DelayFrames(p)
			total := 0.0
			for in := range 2 {
				buf := make([]dsp.Frame, delay+r.Len())
				buf[0][in] = 1
				p.Reset()
				p.Process(buf)
				for out := range 2 {
					for i, x := range r[in][out] {
						got := buf[delay+i][out]
						if i == 0 && in == out {
							got--
						}
						total += got * got
						if math.Abs(got-x) > 1e-12 {
							t.Fatalf("%s: frame %d of path %d%d is %g, Response says %g", v.spec.ID, i, in, out, got, x)
						}
					}
				}
				if s["widthPct"] == 0 && s["drrDB"] == 20 && math.Abs(r[in][0][5000]-r[in][1][5000]) > 1e-12 {
					t.Errorf("%s: a width of 0 is not mono", v.spec.ID)
				}
			}
			if got := -dsp.PowerToDB(total / 2); math.Abs(got-s["drrDB"]) > max(v.settled, 1e-6) {
				t.Errorf("%s {%s}: %.3f dB", v.spec.ID, s.Text(v.spec.Params), got)
			}
			if got := r.Energy(); math.Abs(dsp.PowerToDB(got/(total/2))) > 1e-9 {
				t.Errorf("%s: Energy says %g, heard %g", v.spec.ID, got, total/2)
			}
		}
	}
}

// The same seed is the same reverb, another seed another one; the pre-delay is
// silence.
func TestSeedAndPredelay(t *testing.T) {
	for _, v := range reverbs[:5] {
		s := dsp.Setting{"decayS": v.decaysS[0], "drrDB": 0, "predelayMS": 30}
		a, other, b := build(t, v.spec, 48000, s).Response(), build(t, v.spec, 48000, s.With("seed", 7)).Response(), build(t, v.spec, 48000, s).Response()
		same, different := true, false
		for i := range a[0][1] {
			same = same && a[0][1][i] == b[0][1][i]
			different = different || a[0][1][i] != other[0][1][i]
			if i < 1440 && a[0][1][i] != 0 {
				t.Fatalf("%s: frame %d of the pre-delay is %g", v.spec.ID, i, a[0][1][i])
			}
		}
		if !same || !different {
			t.Errorf("%s: same seed alike %v, other seed different %v", v.spec.ID, same, different)
		}
	}
}

// A room 10 x 8 x 3 m: V 240 m³, S 268 m²; decay times computed from Sabine's
// and Eyring's formulae independently, 24·ln10/343 = 0.161114.
func TestSabineEyring(t *testing.T) {
	for _, c := range []struct{ mean, sabine, eyring float64 }{
		{0.05, 2.8856, 2.8129}, {0.1, 1.4428, 1.3694}, {0.2, 0.7214, 0.6466}, {0.3, 0.4809, 0.4045}, {0.5, 0.2886, 0.2082},
	} {
		sabine, eyring := space.SabineS(240, 268*c.mean), space.EyringS(240, 268, c.mean)
		if math.Abs(sabine-c.sabine) > 6e-5 || math.Abs(eyring-c.eyring) > 6e-5 {
			t.Errorf("absorption %g: Sabine %.4f, Eyring %.4f s; want %.4f, %.4f", c.mean, sabine, eyring, c.sabine, c.eyring)
		}
	}
	if got := space.SabineS(240, 55); math.Abs(got-0.7030) > 6e-5 {
		t.Errorf("55 m² of absorption: %.4f s, want 0.7030", got)
	}
}

// Table 2 of ISO 9613-2:1996, air of 20 °C and 70 %, dB per kilometre (from
// memory); it is computed from ISO 9613-1 and rounded to one decimal.
func TestAir(t *testing.T) {
	for i, want := range []float64{0.1, 0.3, 1.1, 2.8, 5.0, 9.0, 22.9, 76.6} {
		if got := 1000 * space.AirDBPerM(space.BandHz(i), 70); math.Abs(got-want) > 0.06 {
			t.Errorf("%.0f Hz: %.2f dB/km, want %.1f", space.BandHz(i), got, want)
		}
	}
}

// Knobs that are turned while a sine sounds make no click, and arrive.
func TestNetworkTurns(t *testing.T) {
	from, to := dsp.Setting{"drrDB": 0, "decayS": 1}, dsp.Setting{"drrDB": 6, "decayS": 3, "trebleRatio": 1}
	p, err := space.NewNetwork(48000, from)
	if err != nil {
		t.Fatal(err)
	}
	buf := dsptest.Sine(48000, 200, 0.1, 0, 96000)
	p.Process(buf[:24000])
	if err := p.Turn(to); err != nil {
		t.Fatal(err)
	}
	p.Process(buf[24000:])
	bend := func(part []dsp.Frame) (most float64) {
		for i := 2; i < len(part); i++ {
			most = max(most, math.Abs(part[i][0]-2*part[i-1][0]+part[i-2][0]))
		}
		return most
	}
	if before, after := max(bend(buf[12000:24000]), bend(buf[84000:])), bend(buf[24000:84000]); after > 1.5*before {
		t.Errorf("the curve bends by %g while it is turned, %g before and after", after, before)
	}
	p.Reset()
	a, b := dsptest.Noise(1, 0.1, 5000), dsptest.Noise(1, 0.1, 5000)
	p.Process(a)
	build(t, space.FDN, 48000, to).Process(b)
	for i := range a {
		if a[i] != b[i] {
			t.Fatalf("turned and reset, frame %d is %v; built so it is %v", i, a[i], b[i])
		}
	}
	for _, bad := range []dsp.Setting{{"decayS": 99}, {"predelayMS": 10}, {"gain": 1}} {
		if p.Turn(bad) == nil {
			t.Errorf("turns to %v", bad)
		}
	}
}

func BenchmarkReverb(b *testing.B) {
	for _, v := range reverbs {
		b.Run(v.spec.ID, func(b *testing.B) {
			p := build(b, v.spec, 48000, dsp.Setting{"decayS": 1.5, "drrDB": 6})
			in, buf := dsptest.Music(48000, 1, 4096), make([]dsp.Frame, 4096)
			for b.Loop() {
				copy(buf, in)
				p.Process(buf)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(buf)), "ns/frame")
		})
	}
}

// BenchmarkBuild is the time that a person waits for a reverb.
func BenchmarkBuild(b *testing.B) {
	for _, v := range reverbs {
		b.Run(v.spec.ID, func(b *testing.B) {
			n := 0
			for b.Loop() {
				s := dsp.Setting{"decayS": 1.5 + float64(n)/1000, "drrDB": 6}
				n = (n + 1) % 100
				build(b, v.spec, 48000, s)
			}
		})
	}
}
