package demo

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/eq"
)

// The first harmonics of strings and oscillators lie on whole multiples of the
// note, by equal temperament from A4 = 440 Hz (ISO 16): within 2 cents.
func TestHarmonicsAreInTune(t *testing.T) {
	square := plainSynth
	square.shape = "square"
	for key := 28; key <= 88; key += 5 {
		e := event{start: 100, stop: math.Inf(1), key: float64(key), levelDB: -3}
		freqHz := 440 * math.Exp2(float64(key-69)/12)
		pluck := make([]float64, 40000)
		plainString.play(pluck, e, rand.New(rand.NewPCG(1, uint64(key))))
		saw := playSynthNote(plainSynth, e, 40000)
		for name, x := range map[string][]float64{"string": pluck, "saw": saw, "square": playSynthNote(square, e, 40000)} {
			for h := 1.0; h <= 5 && h*freqHz < 4000; h += 2 {
				if off := cents(partialHz(x[4000:28000], h*freqHz), h*freqHz); math.Abs(off) > 2 {
					t.Errorf("%s, key %d: harmonic %g is %.2f cents off", name, key, h, off)
				}
			}
		}
	}
}

func playSynthNote(s synthScore, e event, frames int) []float64 {
	src := &sourceScore{kind: "synth", synth: s}
	dst := newTrack(1, frames)
	src.playSynth(dst, []event{e}, rand.New(rand.NewPCG(2, 0)))
	return dst[0]
}

// The harmonics of the shapes, re the first: saw 1/n, square 1/n odd ones
// alone, triangle 1/n² odd ones alone (Fourier series); and nothing lies
// between them: 80 dB down, where naive waves fold back at −30 dB.
func TestWaves(t *testing.T) {
	const freqHz = 1244.5 // E♭6
	for shape, want := range map[string][]float64{
		"saw": {0, -6.0206, -9.5424, -12.0412}, "square": {0, -200, -9.5424, -200}, "triangle": {0, -200, -19.0849, -200}, "sine": {0, -200, -200, -200},
	} {
		s := plainSynth
		s.shape = shape
		n := synthNote{synthScore: s, wave: s.wave(freqHz)}
		n.oscillators = []oscillator{{pitch: 1, ratio: dsp.Frame{1, 1}}}
		dst := newTrack(1, 48000)
		for from := 0; from < len(dst[0]); from += synthStep {
			n.block(dst, from, from+synthStep, 1, 1, freqHz, 20000)
		}
		x := dst[0][1000:]
		rest, first := slices.Clone(x), 0.0
		for h := 1; float64(h)*freqHz < 24000; h++ {
			level, _ := fitTone(rest, float64(h)*freqHz)
			removeTone(rest, float64(h)*freqHz)
			if h == 1 {
				first = level
			}
			if h <= len(want) {
				got := max(level-first, -200)
				filtered := 0.6 // the open filter's own slope
				if want[h-1] == -200 && got > -80 || want[h-1] > -200 && math.Abs(got-want[h-1]) > filtered {
					t.Errorf("%s: harmonic %d at %.2f dB, want %.2f", shape, h, got, want[h-1])
				}
			}
		}
		for h := 1; float64(h)*freqHz < 24000; h++ {
			removeTone(rest, float64(h)*freqHz) // again: they are not quite independent
		}
		if got := rmsDB(rest) - rmsDB(x); got > -80 {
			t.Errorf("%s: %.1f dB beside its harmonics", shape, got)
		}
	}
}

// removeTone takes a tone out of x, by least squares.
func removeTone(x []float64, toneHz float64) {
	var ss, sc, cc, xs, xc float64
	for i, v := range x {
		s, c := math.Sincos(2 * math.Pi * toneHz * float64(i) / rateHz)
		ss, sc, cc, xs, xc = ss+s*s, sc+s*c, cc+c*c, xs+v*s, xc+v*c
	}
	det := ss*cc - sc*sc
	a, b := (xs*cc-xc*sc)/det, (xc*ss-xs*sc)/det
	for i := range x {
		s, c := math.Sincos(2 * math.Pi * toneHz * float64(i) / rateHz)
		x[i] -= a*s + b*c
	}
}

// A string rings for the time that it is asked for, at A2, within a fifth; the
// palm shortens it.
func TestStringRings(t *testing.T) {
	ring := func(soft bool) float64 {
		x := make([]float64, 5*rateHz)
		e := event{stop: math.Inf(1), key: 45, levelDB: -3, soft: soft}
		plainString.play(x, e, rand.New(rand.NewPCG(1, 1)))
		early, late := rateHz/10, rateHz/10+rateHz/2
		if soft {
			late = rateHz / 4
		}
		a, _ := fitTone(x[early:early+4800], 110)
		b, _ := fitTone(x[late:late+4800], 110)
		return 60 / ((a - b) / (float64(late-early) / rateHz))
	}
	if got := ring(false); math.Abs(got-6) > 1.2 {
		t.Errorf("it rings for %.2f s, want 6", got)
	}
	if got := ring(true); got > 1.5 {
		t.Errorf("under the palm it rings for %.2f s", got)
	}
}

// What the valves make of a tone are its harmonics: everything else below
// 16 kHz, folded back, is 70 dB below; without oversampling it would be some 30.
func TestDriveDoesNotFold(t *testing.T) {
	x := make([]float64, 24000)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * 1244 * float64(i) / rateHz)
	}
	y := drive(x, 10, 0.15)[4000:20000]
	rest := slices.Clone(y)
	removeMean(rest)
	whole := rmsDB(rest)
	for range 2 { // harmonics are not quite independent
		for h := 1; h*1244 < 24000; h++ {
			removeTone(rest, float64(h*1244))
		}
	}
	for _, c := range eq.ButterworthLowPass(rateHz, 16000, 8) {
		filter(rest, c)
	}
	if got := rmsDB(rest[1000:]) - whole; got > -70 {
		t.Errorf("%.1f dB are no harmonics", got)
	}
	if second, _ := fitTone(y, 2488); second < -40 {
		t.Errorf("the bias leaves a second harmonic of %.1f dB", second)
	}
}

func removeMean(x []float64) {
	mean := 0.0
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for i := range x {
		x[i] -= mean
	}
}

// The valve is the hyperbolic tangent within 0.025, odd and never falling.
func TestValve(t *testing.T) {
	for x := -5.0; x < 5; x += 0.01 {
		if v := valve(x); math.Abs(v-math.Tanh(x)) > 0.025 || v != -valve(-x) || valve(x+0.01) < v {
			t.Errorf("valve(%g) is %g, tanh %g", x, v, math.Tanh(x))
		}
	}
}

// Silence in is silence out, and blocks leave no seams: shifted by 100 frames
// the sound is shifted, nothing else.
func TestDriveHasNoSeams(t *testing.T) {
	x := noise(4000)
	a, b := drive(x, 3, 0.15), drive(append(make([]float64, 100), x...), 3, 0.15)
	for i := 20; i < 3900; i++ {
		if math.Abs(a[i]-b[100+i]) > 1e-12 {
			t.Fatalf("frame %d: %g and %g", i, a[i], b[100+i])
		}
	}
	if got := peakOf(drive(make([]float64, 4000), 10, 0.15)); got != 0 {
		t.Errorf("silence becomes %g", got)
	}
}

// The voice sings the note: its mean pitch, over whole turns of the vibrato,
// within 12 cents; the consonant comes before; loudness hardly depends on
// pitch; and it is a voice: periods are alike as a person's are, not as a
// machine's.
func TestVoiceSings(t *testing.T) {
	for _, word := range []string{"l-a", "s-an", "t-ou", "m-a", "k-ai", "sh-ou"} {
		var levels []float64
		for _, key := range []float64{57, 62, 67, 72, 75} {
			src := &sourceScore{kind: "voice", voice: plainVoice}
			src.voice.driftCents = 0
			dst := newTrack(1, 2*rateHz)
			events := []event{{start: rateHz / 2, stop: 1.6 * rateHz, key: key, word: word, levelDB: -3}}
			words, err := new(rendering).words(events)
			if err != nil {
				t.Fatal(err)
			}
			src.playVoice(dst, events, words, rand.New(rand.NewPCG(3, 3)))
			freqHz := 440 * math.Exp2((key-69)/12)
			x := dst[0][int(0.85*rateHz):int(1.4*rateHz)] // three turns of the vibrato
			sum, n, like := 0.0, 0, 0.0
			for at := 0; at+2400 < len(x); at += 240 {
				hz, c := periodHz(x[at:at+2400], freqHz)
				sum, n, like = sum+cents(hz, freqHz), n+1, like+c
			}
			like /= float64(n)
			if off := sum / float64(n); math.Abs(off) > 12 {
				t.Errorf("%s on %g: %.1f cents off", word, key, off)
			}
			// Ratio of harmonics to noise from the likeness of periods
			// (Boersma 1993): HNR = 10 log r/(1−r).
			if hnr := dsp.PowerToDB(like / (1 - like)); hnr < 6 || hnr > 24 {
				t.Errorf("%s on %g: harmonics to noise %.1f dB", word, key, hnr)
			}
			if before := peakOf(dst[0][:int(0.5*rateHz)-events[0].consonant-200]); before != 0 {
				t.Errorf("%s on %g: sound before its consonant", word, key)
			}
			levels = append(levels, rmsDB(x))
		}
		if spread := slices.Max(levels) - slices.Min(levels); spread > 8 {
			t.Errorf("%s: %.1f dB between notes", word, spread)
		}
	}
}

// periodHz is the pitch near a frequency, by autocorrelation, and how much
// alike two periods are.
func periodHz(x []float64, nearHz float64) (hz, like float64) {
	at := func(lag int) float64 { return correlation(x[:len(x)-lag], x[lag:]) }
	best := 0
	for lag := int(rateHz / nearHz / 1.06); lag <= int(rateHz/nearHz*1.06)+1; lag++ {
		if c := at(lag); c > like {
			best, like = lag, c
		}
	}
	if best == 0 {
		return nearHz, 0.01
	}
	a, b, c := at(best-1), like, at(best+1)
	return rateHz / (float64(best) + (a-c)/(2*(a-2*b+c))), like
}

// Every syllable that a song sings has a vowel that can be held, and the
// kinds of consonants are those of phonetics.
func TestSyllables(t *testing.T) {
	var ks kernels
	for _, s := range mustSongs(t) {
		for _, path := range slices.Compact(slices.Sorted(slices.Values(s.score.syllables))) {
			word := path[len("voice/") : len(path)-len(".ogg")]
			if syl, err := readSyllable(word, &ks); err != nil || len(syl.marks) < 30 || syl.consonant > rateHz/5 {
				t.Errorf("%s: %s: %v", s.Name, word, err)
			}
		}
	}
	for word, want := range map[string]Kind{"p-a": Plosive, "k-ai": Plosive, "s-an": Sibilant, "ch-ou": Sibilant, "l-a": "", "a": "", "m-ao": ""} {
		if got := kindOf(word); got != want {
			t.Errorf("%s is %q", word, got)
		}
	}
	if _, err := readSyllable("none", new(kernels)); err == nil {
		t.Error("no syllable was read")
	}
}
