package measure

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
	"strop/dsp/eq"
)

func pinkClip(rateHz float64, seed uint64, seconds float64) []dsp.Frame {
	buf := make([]dsp.Frame, int(seconds*rateHz))
	dsp.NewPink(rateHz, seed).Fill(buf)
	dsp.Gain(0.1).Process(buf)
	return buf
}

func throughPeak(t interface{ Fatal(...any) }, buf []dsp.Frame, rateHz, freqHz, gainDB, q float64) []dsp.Frame {
	p, err := eq.Peak.New(rateHz, dsp.Setting{"freqHz": freqHz, "gainDB": gainDB, "q": q})
	if err != nil {
		t.Fatal(err)
	}
	out := slices.Clone(buf)
	p.Process(out)
	return out
}

// nearestBand is the band of m whose centre is nearest to freqHz in Cams.
func nearestBand(m *AudibilityMeter, freqHz float64) (band int) {
	for b, bandHz := range m.bandsHz {
		if math.Abs(dsp.Cams(bandHz)-dsp.Cams(freqHz)) < math.Abs(dsp.Cams(m.bandsHz[band])-dsp.Cams(freqHz)) {
			band = b
		}
	}
	return band
}

// meanDB is the mean power of a band over all frames.
func meanDB(m *AudibilityMeter, x Excitation, band int, c Channel) float64 {
	sum := 0.0
	for i := band; i < len(x.bands); i += len(m.bandsHz) {
		sum += x.bands[i][c]
	}
	return dsp.PowerToDB(sum / float64(x.frames))
}

// A peak of +6 dB, Q 1.414, on pink noise changes the excitation of the band
// at its own frequency by the figures below, computed independently from the
// formula of the filters and the spectrum of the noise. The tolerance is for
// the width of a line in the frames and the place of the bands. What a tenth
// of the frames exceeds is more than the mean: noise happens to lie where the
// peak is, and a short frame sees the peak ring.
func TestAudibilityOfAPeakOnPink(t *testing.T) {
	for _, rateHz := range []float64{44100, 48000, 96000} {
		pink := pinkClip(rateHz, 1, 12)
		m := NewAudibilityMeter(rateHz)
		m.Before(pink)
		for freqHz, want := range map[float64]float64{63: 4.70, 125: 5.26, 250: 5.60, 500: 5.71, 1000: 5.79, 4000: 5.84, 10000: 5.85} {
			name := fmt.Sprintf("%g Hz at a rate of %g Hz", freqHz, rateHz)
			a := m.After(throughPeak(t, pink, rateHz, freqHz, 6, 1.414))
			band := nearestBand(m, freqHz)
			near(t, name, meanDB(m, m.after, band, Left)-meanDB(m, m.before, band, Left), want, 0.1)
			near(t, name+": place", dsp.Cams(a.BandHz), dsp.Cams(freqHz), 0.75)
			if a.DB < want || a.DB > want+0.9 {
				t.Errorf("%s: %.2f dB, the mean is %.2f dB", name, a.DB, want)
			}
		}
	}
}

// White noise of power N per Hz excites a band by N·ERB, since the area of a
// rounded-exponential filter of p = 4f/ERB is ERB; and by the K-weighting
// there, of which a band takes the mean.
func TestExcitationOfWhite(t *testing.T) {
	for _, rateHz := range []float64{8000, 44100, 96000} {
		buf := make([]dsp.Frame, int(30*rateHz))
		dsp.NewWhite(3).Fill(buf)
		m := NewAudibilityMeter(rateHz)
		m.Before(buf)
		for b, bandHz := range m.bandsHz {
			if _, hi := earFilterEdges(bandHz); hi > rateHz/2 {
				break
			}
			want := dsp.PowerToDB(2 / rateHz * dsp.ERBHz(bandHz) * kPower(bandHz))
			tolerance := 0.1 + scatterDB(dsp.ERBHz(bandHz), 30)
			if bandHz < 150 {
				tolerance = 1.5 // the K-weighting bends across the band, which ends at 0 Hz
			}
			name := fmt.Sprintf("%.0f Hz at a rate of %g Hz", bandHz, rateHz)
			near(t, name, meanDB(m, m.before, b, Left), want, tolerance)
			near(t, name+": middle of two strangers", meanDB(m, m.before, b, Mid), want-3.0103, tolerance)
			near(t, name+": their sides", meanDB(m, m.before, b, Side), want-3.0103, tolerance)
		}
	}
}

// A steady gain of g dB reads |g|, as long as a tenth of the frames stays over
// the gate.
func TestAudibilityOfGain(t *testing.T) {
	m := NewAudibilityMeter(8000)
	rapid.Check(t, func(t *rapid.T) {
		before := musicLike(8000, rapid.Uint64().Draw(t, "seed"), 2)
		gainDB := rapid.Float64Range(-15, 40).Draw(t, "gainDB")
		after := slices.Clone(before)
		dsp.Gain(dsp.FromDB(gainDB)).Process(after)
		m.Before(before)
		if a := m.After(after); math.Abs(a.DB-math.Abs(gainDB)) > 1e-9 {
			t.Fatalf("%g dB reads %+v", gainDB, a)
		}
	})
}

// More of a boost or a cut never reads less, anywhere, and none reads 0.
func TestAudibilityIsMonotonic(t *testing.T) {
	const rateHz = 8000
	m := NewAudibilityMeter(rateHz)
	rapid.Check(t, func(t *rapid.T) {
		before := musicLike(rateHz, rapid.Uint64().Draw(t, "seed"), 1.2)
		freqHz := 40 * math.Exp2(rapid.Float64Range(0, 6).Draw(t, "octave"))
		q := rapid.Float64Range(0.5, 4).Draw(t, "q")
		m.Before(before)
		for _, sign := range []float64{1, -1} {
			last := 0.0
			for _, gainDB := range []float64{0, 0.5, 1, 2, 4, 8, 12} {
				a := m.After(throughPeak(t, before, rateHz, freqHz, sign*gainDB, q))
				if a.DB < last-1e-9 || gainDB == 0 && a.DB != 0 {
					t.Fatalf("%.0f Hz, %g dB: %+v after %.3f dB for less", freqHz, sign*gainDB, a, last)
				}
				last = a.DB
			}
		}
	})
}

// A boost where the loop has nothing changes nothing: 12 dB at 8 kHz on a bass.
func TestAudibilityWhereThereIsNothing(t *testing.T) {
	const rateHz = 48000
	bass := faded(sine(rateHz, 55, -12, 0, 3), 10*rateHz)
	if a := Audible(bass, throughPeak(t, bass, rateHz, 8000, 12, 1), rateHz); a.DB > 0.05 {
		t.Errorf("8 kHz on a bass: %+v", a)
	}
	a := Audible(bass, throughPeak(t, bass, rateHz, 55, 12, 1), rateHz)
	near(t, "55 Hz on it", a.DB, 12, 0.2)
}

// Only the second half is changed, and that is where it is said to be heard.
func TestAudibilitySaysWhen(t *testing.T) {
	const rateHz = 48000
	before := pinkClip(rateHz, 5, 4)
	after := throughPeak(t, before, rateHz, 2000, 9, 1)
	copy(after, before[:2*rateHz])
	if a := Audible(before, after, rateHz); a.AtS < 2 || a.AtS > 4 || math.Abs(dsp.Octaves(a.BandHz, 2000)) > 0.5 {
		t.Errorf("got %+v", a)
	}
}

// A click is found where Peak is asked for, more of it in a pause.
func TestAudibilityOfAClick(t *testing.T) {
	const rateHz = 48000
	click := func(buf []dsp.Frame) []dsp.Frame {
		buf = slices.Clone(buf)
		buf[3*rateHz/2] = dsp.Frame{1, 1}
		return buf
	}
	pause := pinkClip(rateHz, 6, 3)
	clear(pause[rateHz : 2*rateHz])
	busy := pinkClip(rateHz, 6, 3)
	m := NewAudibilityMeter(rateHz)
	m.Before(busy)
	if a := m.After(click(busy)); a.DB > 0.1 {
		t.Errorf("in a busy mix, among a tenth of the frames: %+v", a)
	}
	m.Peak = true
	m.Before(pause)
	if a := m.After(click(pause)); a.DB < 20 || math.Abs(a.AtS-1.5) > 0.02 {
		t.Errorf("in a pause: %+v", a)
	}
	m.Before(busy)
	if a := m.After(click(busy)); a.DB < 5 || math.Abs(a.AtS-1.5) > 0.02 {
		t.Errorf("in a busy mix, at its peak: %+v", a)
	}
}

// What happens between the channels is seen in mid and side: half of the side
// is 6.02 dB there, and polarity cannot be seen in left and right at all.
func TestAudibilityOfStereo(t *testing.T) {
	const rateHz = 48000
	before := pinkClip(rateHz, 7, 3)
	narrow, turned := slices.Clone(before), slices.Clone(before)
	for i, f := range before {
		m, s := Mid.Of(f), Side.Of(f)/2
		narrow[i], turned[i] = dsp.Frame{m + s, m - s}, dsp.Frame{f[0], -f[1]}
	}
	m := NewAudibilityMeter(rateHz)
	m.Before(before)
	if a := m.After(turned); a.DB > 1e-9 {
		t.Errorf("polarity in left and right: %+v", a)
	}
	m.Channels = []Channel{Mid, Side}
	if a := m.After(turned); a.DB < 5 {
		t.Errorf("polarity in mid and side: %+v", a)
	}
	a := m.After(narrow)
	near(t, "half of the side", a.DB, 6.0206, 1e-4)
	if a.Channel != Side {
		t.Errorf("found in %v", a.Channel)
	}
}

func TestAudibilityLimits(t *testing.T) {
	music, silent := musicLike(8000, 1, 1), make([]dsp.Frame, 8000)
	if a := Audible(music, music, 8000); a != (Audibility{}) {
		t.Errorf("the same: %+v", a)
	}
	if a := Audible(silent, silent, 8000); a != (Audibility{}) {
		t.Errorf("silence: %+v", a)
	}
	if a := Audible(nil, nil, 8000); a != (Audibility{}) {
		t.Errorf("nothing: %+v", a)
	}
	m := NewAudibilityMeter(8000)
	m.Peak = true
	m.Before(silent)
	near(t, "out of silence", m.After(music).DB, audibilityGateDB, 1e-9)
	m.Before(music)
	near(t, "into silence", m.After(silent).DB, audibilityGateDB, 1e-9)
	for _, bad := range []float64{math.NaN(), math.Inf(1)} {
		broken := slices.Clone(music)
		broken[4000][1] = bad
		if a, b := Audible(music, broken, 8000), Audible(broken, music, 8000); !math.IsNaN(a.DB) || !math.IsNaN(b.DB) {
			t.Errorf("%g reads %+v and %+v", bad, a, b)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("renders of different length are compared")
		}
	}()
	Audible(music, music[:4000], 8000)
}

// A render that is taken in and turned is compared as one that was turned.
func TestAudibilityTurned(t *testing.T) {
	before := musicLike(48000, 1, 2)
	after := throughPeak(t, before, 48000, 1000, 6, 1)
	m, other := NewAudibilityMeter(48000), NewAudibilityMeter(48000)
	x, y := m.Excite(before), other.Excite(after)
	for _, turnedDB := range []float64{0, -3, 5} {
		turned := slices.Clone(after)
		dsp.Gain(dsp.FromDB(turnedDB)).Process(turned)
		want, got := Audible(before, turned, 48000), m.Compare(x, y, turnedDB)
		near(t, "change", got.DB, want.DB, 1e-9)
		if got.DB = want.DB; got != want {
			t.Errorf("turned by %g dB: %+v, want %+v", turnedDB, got, want)
		}
	}
}

func TestAudibilityDoesNotAllocate(t *testing.T) {
	before := musicLike(48000, 1, 1)
	m := NewAudibilityMeter(48000)
	m.Before(before)
	m.After(before)
	if a := testing.AllocsPerRun(3, func() { m.Before(before); m.After(before) }); a != 0 {
		t.Errorf("%g allocations in a comparison", a)
	}
}

func TestNthLargest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(0, 9), 1, 50).Draw(t, "x")
		n := rapid.IntRange(1, len(x)).Draw(t, "n")
		sorted := slices.Sorted(slices.Values(x))
		if got := nthLargest(x, n); got != sorted[len(x)-n] {
			t.Fatalf("number %d is %g, want %g", n, got, sorted[len(x)-n])
		}
	})
}

func BenchmarkAudibility(b *testing.B) {
	const rateHz = 48000
	before := musicLike(rateHz, 1, 8)
	after := throughPeak(b, before, rateHz, 1000, 6, 1)
	m := NewAudibilityMeter(rateHz)
	m.Before(before)
	m.After(after)
	for b.Loop() {
		m.Before(before)
		m.After(after)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*2*len(before)), "ns/frame")
}
