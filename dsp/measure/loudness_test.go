package measure

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
)

func (s secondOrder) at(freqHz, rateHz float64) complex128 {
	z := cmplx.Rect(1, -2*math.Pi*freqHz/rateHz)
	return (complex(s.b0, 0) + z*(complex(s.b1, 0)+z*complex(s.b2, 0))) / (1 + z*(complex(s.a1, 0)+z*complex(s.a2, 0)))
}

// At 48 kHz: ITU-R BS.1770-5, Annex 1, Tables 1 and 2. At 44.1 kHz: computed
// independently from the formula published in libebur128, ebur128.c, but for
// the numerator of the high-pass.
func TestKWeightingCoefficients(t *testing.T) {
	high44 := kHighPass(44100)
	for _, c := range []struct {
		name      string
		got, want secondOrder
	}{
		{"48 kHz shelf", kShelf(48000), secondOrder{1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585}},
		{"48 kHz high-pass", kHighPass(48000), secondOrder{1, -2, 1, -1.99004745483398, 0.99007225036621}},
		{"44.1 kHz shelf", kShelf(44100), secondOrder{1.53084123005035, -2.65097999515473, 1.16907907992159, -1.66365511325602, 0.71259542807323}},
		{"44.1 kHz high-pass", high44, secondOrder{high44.b0, -2 * high44.b0, high44.b0, -1.98916967362980, 0.98919903578704}},
	} {
		near(t, c.name+" b0", c.got.b0, c.want.b0, 1e-12)
		near(t, c.name+" b1", c.got.b1, c.want.b1, 1e-12)
		near(t, c.name+" b2", c.got.b2, c.want.b2, 1e-12)
		near(t, c.name+" a1", c.got.a1, c.want.a1, 1e-12)
		near(t, c.name+" a2", c.got.a2, c.want.a2, 1e-12)
	}
}

// The response of the standard's tables at 48 kHz, computed independently.
// BS.1770-5 asks for the same response at other rates.
func TestKWeightingResponse(t *testing.T) {
	for freqHz, db := range map[float64]float64{
		20: -13.2754, 31.5: -7.7900, 50: -3.9341, 63: -2.6639, 100: -1.1335, 200: -0.2649, 500: 0.0425,
		997: 0.6910, 1000: 0.6977, 2000: 3.0713, 4000: 3.9680, 8000: 4.0394, 16000: 4.0431,
	} {
		for rateHz, tolerance := range map[float64]float64{8000: 0.3, 22050: 0.03, 44100: 0.01, 48000: 0.0001, 96000: 0.01, 192000: 0.01, 384000: 0.01} {
			if freqHz < rateHz/2 {
				got := dsp.ToDB(cmplx.Abs(kShelf(rateHz).at(freqHz, rateHz) * kHighPass(rateHz).at(freqHz, rateHz)))
				near(t, fmt.Sprintf("%g Hz at %g Hz", freqHz, rateHz), got, db, tolerance)
			}
		}
	}
}

// The filter that runs has the response of its coefficients: a long sine's
// mean square, at every rate.
func TestKWeightRuns(t *testing.T) {
	for _, rateHz := range []float64{8000, 44100, 48000, 384000} {
		for _, freqHz := range []float64{30, 1000, 3500} {
			k := newKWeight(rateHz)
			buf := sine(rateHz, freqHz, 0, 0, 2)
			half := len(buf) / 2
			k.energy(buf[:half], dsp.Frame{})
			sum := k.energy(buf[half:], dsp.Frame{})
			want := dsp.ToDB(cmplx.Abs(kShelf(rateHz).at(freqHz, rateHz)*kHighPass(rateHz).at(freqHz, rateHz))) - 3.0103
			near(t, fmt.Sprintf("%g Hz at %g Hz", freqHz, rateHz), dsp.PowerToDB(k.power*sum[0]/float64(half)), want, 1e-3)
			near(t, "right as left", sum[1], sum[0], 0)
		}
	}
}

// ITU-R BS.1770-5, Annex 1: 997 Hz at 0 dBFS in one channel reads −3.01 LKFS.
// EBU Tech 3341, 2.9: 1 kHz at −18 dBFS in both reads −18.0. The closer
// figures are those of an independent double-precision meter.
func TestLoudnessAnchors(t *testing.T) {
	left := func(buf []dsp.Frame) []dsp.Frame {
		for i := range buf {
			buf[i][1] = 0
		}
		return buf
	}
	for _, c := range []struct {
		name            string
		buf             []dsp.Frame
		rateHz, wantLUF float64
		tolerance       float64
	}{
		{"997 Hz left", left(sine(48000, 997, 0, 0, 20)), 48000, -3.01028, 2e-4},
		{"997 Hz left at 44.1 kHz", left(sine(44100, 997, 0, 0, 20)), 44100, -3.01, 0.005},
		{"997 Hz left at 96 kHz", left(sine(96000, 997, 0, 0, 20)), 96000, -3.01, 0.005},
		{"997 Hz left at 192 kHz", left(sine(192000, 997, 0, 0, 2)), 192000, -3.01, 0.006},
		{"997 Hz both", sine(48000, 997, 0, 0, 20), 48000, 0.00002, 2e-4},
		{"1 kHz left", left(sine(48000, 1000, 0, 0, 20)), 48000, -3.0036, 2e-4},
		{"1 kHz both, −18 dBFS", sine(48000, 1000, -18, 0, 20), 48000, -17.9933, 2e-4},
	} {
		near(t, c.name, IntegratedLUFS(c.buf, c.rateHz), c.wantLUF, c.tolerance)
	}
}

func measureLoudness(buf []dsp.Frame, rateHz float64) Loudness {
	m := NewLoudnessMeter(rateHz, 2)
	m.Process(buf)
	return m.Result()
}

// EBU Tech 3341 (2023), Table 1, cases 1 to 5: −23.0 or −33.0 ±0.1; the
// closer figures are those of an independent meter at 48 kHz. Cases 7 and 8
// need the EBU's own programmes and are not here.
func TestTech3341Integrated(t *testing.T) {
	for _, c := range []struct {
		number   int
		segments []segment
		want     float64
		closer   float64
	}{
		{1, []segment{{-23, 20}}, -23, -22.9933},
		{2, []segment{{-33, 20}}, -33, -32.9933},
		{3, []segment{{-36, 10}, {-23, 60}, {-36, 10}}, -23, -23.0139},
		{4, []segment{{-72, 10}, {-36, 10}, {-23, 60}, {-36, 10}, {-72, 10}}, -23, -23.0139},
		{5, []segment{{-26, 20}, {-20, 20.1}, {-26, 20}}, -23, -22.9787},
	} {
		for _, rateHz := range []float64{44100, 48000} {
			got := measureLoudness(tone(rateHz, c.segments...), rateHz)
			name := fmt.Sprintf("case %d at %g Hz", c.number, rateHz)
			near(t, name, got.IntegratedLUFS, c.want, 0.1)
			if rateHz == 48000 {
				near(t, name+", closer", got.IntegratedLUFS, c.closer, 3e-4)
			}
			if c.number <= 2 {
				near(t, name+" M", got.MaxMomentaryLUFS, c.want, 0.1)
				near(t, name+" S", got.MaxShortTermLUFS, c.want, 0.1)
			}
		}
	}
}

// Case 6: five channels, the surrounds weighted by 1.41. Independent meter:
// −23.0163.
func TestTech3341FiveChannels(t *testing.T) {
	const rateHz, hopLen = 48000, 480
	w := newLoudnessWindows()
	left, centre, surround := newKWeight(rateHz), newKWeight(rateHz), newKWeight(rateHz)
	l, c, s := tone(rateHz, segment{-28, 20}), tone(rateHz, segment{-24, 20}), tone(rateHz, segment{-30, 20})
	for i := 0; i < len(l); i += hopLen {
		lr := left.energy(l[i:i+hopLen], dsp.Frame{})
		cc := centre.energy(c[i:i+hopLen], dsp.Frame{})
		ss := surround.energy(s[i:i+hopLen], dsp.Frame{})
		w.add(left.power * (lr[0] + lr[1] + cc[0] + 1.41*(ss[0]+ss[1])) / hopLen)
	}
	near(t, "case 6", w.result().IntegratedLUFS, -23, 0.1)
	near(t, "case 6, closer", w.result().IntegratedLUFS, -23.0163, 3e-4)
}

// readings are the least and the greatest live reading, taken every 10 ms
// once the first seconds are over.
func readings(buf []dsp.Frame, rateHz, afterS float64, read func(*LoudnessMeter) float64) (lo, hi float64) {
	m := NewLoudnessMeter(rateHz, 2)
	lo, hi = math.Inf(1), math.Inf(-1)
	hop := int(rateHz / 100)
	for i := 0; i+hop <= len(buf); i += hop {
		m.Process(buf[i : i+hop])
		if float64(i+hop) >= afterS*rateHz {
			lo, hi = min(lo, read(m)), max(hi, read(m))
		}
	}
	return lo, hi
}

// Cases 9 and 12: the reading stands still while the level alternates within
// the window. Independent meter: −22.9863 and −22.9604.
func TestTech3341Constant(t *testing.T) {
	const rateHz = 48000
	lo, hi := readings(tone(rateHz, repeated(5, segment{-20, 1.34}, segment{-30, 1.66})...), rateHz, 3, (*LoudnessMeter).ShortTerm)
	near(t, "case 9 low", lo, -23, 0.1)
	near(t, "case 9 high", hi, -23, 0.1)
	near(t, "case 9, closer", hi, -22.9863, 1e-3)
	lo, hi = readings(tone(rateHz, repeated(25, segment{-20, 0.18}, segment{-30, 0.22})...), rateHz, 1, (*LoudnessMeter).Momentary)
	near(t, "case 12 low", lo, -23, 0.1)
	near(t, "case 12 high", hi, -23, 0.1)
	near(t, "case 12, closer", hi, -22.9604, 1e-3)
}

// Cases 10 and 13: a burst as long as the window, wherever it starts.
func TestTech3341Maxima(t *testing.T) {
	const rateHz = 48000
	for i := range 20 {
		got := measureLoudness(tone(rateHz, segment{silence, 0.15 * float64(i)}, segment{-23, 3}, segment{silence, 1}), rateHz)
		near(t, fmt.Sprintf("case 10, i=%d", i), got.MaxShortTermLUFS, -23, 0.1)
		near(t, fmt.Sprintf("case 10, i=%d, closer", i), got.MaxShortTermLUFS, -22.9933, 1e-3)
		got = measureLoudness(tone(rateHz, segment{silence, 0.02 * float64(i)}, segment{-23, 0.4}, segment{silence, 1}), rateHz)
		near(t, fmt.Sprintf("case 13, i=%d", i), got.MaxMomentaryLUFS, -23, 0.1)
		near(t, fmt.Sprintf("case 13, i=%d, closer", i), got.MaxMomentaryLUFS, -22.9936, 1e-3)
	}
}

// Cases 11 and 14: the same bursts one after the other, each louder by 1 dB,
// read live: −38, −37 … −19 ±0.1.
func TestTech3341LiveMaxima(t *testing.T) {
	const rateHz = 48000
	shortTerm, momentary := NewLoudnessMeter(rateHz, 2), NewLoudnessMeter(rateHz, 2)
	for i := range 20 {
		level := float64(-38 + i)
		shortTerm.Process(tone(rateHz, segment{level, 3}, segment{silence, 3 - 0.15*float64(i)}))
		near(t, fmt.Sprintf("case 11, i=%d", i), shortTerm.Result().MaxShortTermLUFS, level, 0.1)
		momentary.Process(tone(rateHz, segment{level, 0.4}, segment{silence, 0.4 - 0.02*float64(i)}))
		near(t, fmt.Sprintf("case 14, i=%d", i), momentary.Result().MaxMomentaryLUFS, level, 0.1)
	}
}

// EBU Tech 3342 (2023), Table 1, cases 1 to 4, ±1 LU; an independent meter
// reads them to 0.001. Playing the signal twice must not change the range.
func TestTech3342(t *testing.T) {
	const rateHz = 48000
	for i, c := range []struct {
		levels []float64
		want   float64
	}{
		{[]float64{-20, -30}, 10}, {[]float64{-20, -15}, 5}, {[]float64{-40, -20}, 20}, {[]float64{-50, -35, -20, -35, -50}, 15},
	} {
		var segments []segment
		for _, level := range c.levels {
			segments = append(segments, segment{level, 20})
		}
		once := measureLoudness(tone(rateHz, segments...), rateHz).RangeLU
		near(t, fmt.Sprintf("case %d", i+1), once, c.want, 1)
		near(t, fmt.Sprintf("case %d, closer", i+1), once, c.want, 0.01)
		twice := measureLoudness(tone(rateHz, repeated(2, segments...)...), rateHz).RangeLU
		near(t, fmt.Sprintf("case %d twice", i+1), twice, once, 0.01)
	}
}

// The gate as BS.1770-5 words it, over all block energies in a list: the
// histogram may differ by no more than 0.01 LU.
func TestHistogramAgainstList(t *testing.T) {
	for _, rateHz := range []float64{11025, 22050, 48000} {
		for seed := range uint64(2) {
			buf := musicLike(rateHz, seed, 40)
			near(t, fmt.Sprintf("seed %d at %g Hz", seed, rateHz), IntegratedLUFS(buf, rateHz), listLUFS(buf, rateHz), 0.01)
		}
	}
}

func listLUFS(buf []dsp.Frame, rateHz float64) float64 {
	var blocks []float64
	k := newKWeight(rateHz)
	weighted := make([]float64, len(buf))
	for i := range buf {
		e := k.energy(buf[i:i+1], dsp.Frame{})
		weighted[i] = k.power * (e[0] + e[1])
	}
	for j := 0; ; j++ {
		start, end := int(float64(j)*rateHz/10), int(float64(j+4)*rateHz/10)
		if end > len(buf) {
			break
		}
		sum := 0.0
		for _, e := range weighted[start:end] {
			sum += e
		}
		blocks = append(blocks, sum/float64(end-start))
	}
	gated := func(gateLUFS float64) float64 {
		sum, n := 0.0, 0
		for _, z := range blocks {
			if -0.691+10*math.Log10(z) > gateLUFS {
				sum, n = sum+z, n+1
			}
		}
		return -0.691 + 10*math.Log10(sum/float64(n))
	}
	return gated(gated(-70) - 10)
}

func TestLoudnessOfLittle(t *testing.T) {
	none := measureLoudness(make([]dsp.Frame, 48000*4), 48000)
	for _, level := range []float64{none.IntegratedLUFS, none.MaxMomentaryLUFS, none.MaxShortTermLUFS} {
		if !math.IsInf(level, -1) {
			t.Errorf("silence reads %g", level)
		}
	}
	if !math.IsNaN(none.RangeLU) {
		t.Errorf("the range of silence is %g", none.RangeLU)
	}
	short := measureLoudness(tone(48000, segment{-23, 0.3}), 48000)
	if !math.IsInf(short.IntegratedLUFS, -1) {
		t.Errorf("0.3 s read %g integrated", short.IntegratedLUFS)
	}
	near(t, "max M of 0.3 s", short.MaxMomentaryLUFS, -23+dsp.PowerToDB(0.75), 0.1)
	broken := measureLoudness(append(tone(48000, segment{-23, 5}), dsp.Frame{math.NaN(), 0}), 48000)
	near(t, "a NaN in a hop that never ends", broken.IntegratedLUFS, -23, 0.1)
	broken = measureLoudness(append([]dsp.Frame{{math.NaN(), 0}}, tone(48000, segment{-23, 5})...), 48000)
	if !math.IsNaN(broken.IntegratedLUFS) || !math.IsNaN(broken.MaxMomentaryLUFS) || !math.IsNaN(broken.RangeLU) {
		t.Errorf("a NaN goes unnoticed: %+v", broken)
	}
}

// One channel: the right does not count, and a file on both channels is not
// taken for stereo.
func TestLoudnessOfMono(t *testing.T) {
	buf := sine(48000, 997, 0, 0, 5)
	for i := range buf {
		buf[i][1] = math.NaN()
	}
	m := NewLoudnessMeter(48000, 1)
	m.Process(buf)
	near(t, "997 Hz mono", m.Result().IntegratedLUFS, -3.01, 0.005)
}

// After a sound the meter comes to rest at silence, exactly.
func TestLoudnessSettles(t *testing.T) {
	m := NewLoudnessMeter(48000, 2)
	m.Process(musicLike(48000, 1, 2))
	m.Process(make([]dsp.Frame, 48000*5))
	if !math.IsInf(m.Momentary(), -1) || !math.IsInf(m.ShortTerm(), -1) {
		t.Errorf("after 5 s of silence: M %g, S %g", m.Momentary(), m.ShortTerm())
	}
	if m.k.s != [2]kState{} {
		t.Errorf("the filter still rings: %v", m.k.s)
	}
}

// A gain of g dB moves every level by g, if all of it stays above the
// absolute gate, and the range not at all.
func TestLoudnessFollowsGain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rateHz := rapid.SampledFrom([]float64{8000, 11025, 22050}).Draw(t, "rateHz")
		gainDB := rapid.Float64Range(-10, 30).Draw(t, "gainDB")
		buf := musicLike(rateHz, rapid.Uint64().Draw(t, "seed"), 12)
		before := measureLoudness(buf, rateHz)
		dsp.Gain(dsp.FromDB(gainDB)).Process(buf)
		after := measureLoudness(buf, rateHz)
		for i, d := range []float64{
			after.IntegratedLUFS - before.IntegratedLUFS - gainDB, after.MaxMomentaryLUFS - before.MaxMomentaryLUFS - gainDB,
			after.MaxShortTermLUFS - before.MaxShortTermLUFS - gainDB, after.RangeLU - before.RangeLU,
		} {
			if !(math.Abs(d) < [4]float64{0.01, 1e-9, 1e-9, 0.02}[i]) {
				t.Errorf("reading %d is off by %g after %g dB", i, d, gainDB)
			}
		}
	})
}

func BenchmarkLoudness(b *testing.B) {
	benchmarkMeter(b, NewLoudnessMeter(48000, 2), musicLike(48000, 1, 30))
}

// benchmarkMeter feeds buf to p in blocks of 512.
func benchmarkMeter(b *testing.B, p dsp.Processor, buf []dsp.Frame) {
	for b.Loop() {
		p.Reset()
		for i := 0; i < len(buf); i += 512 {
			p.Process(buf[i:min(i+512, len(buf))])
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(buf)), "ns/frame")
}
