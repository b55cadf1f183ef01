package content

import (
	"cmp"
	"context"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"strop/dsp"
	"strop/dsp/fourier"
)

// pairWords are the words by which microphones, and lines, on one source
// differ: a set a row. Common practice, no source.
var pairWords = [][]string{
	{"l", "r"}, {"left", "right"}, {"in", "out", "inside", "outside", "sub", "beater"},
	{"top", "bottom", "bot", "btm", "up", "down", "under", "t", "b"},
	{"di", "amp", "mic", "cab", "line", "pickup", "speaker"}, {"near", "far", "close", "mid", "side", "desk"},
	{"neck", "body", "bridge", "hole"}, {"ribbon", "condenser", "dynamic", "tube", "57", "421", "121", "87"},
}

// pairByName gives stems a common word that differ in nothing but words of
// one set: OH L and OH R, Snare Top and Snare Btm, Bass DI and Bass Amp.
func pairByName(stems []Stem) {
	keys := map[string][]int{}
	for i, s := range stems {
		if s.Pair != "" || s.RoleFrom == FromScore {
			continue
		}
		if key := pairKey(s.Name); key != "" {
			keys[key] = append(keys[key], i)
		}
	}
	for key, pair := range keys {
		name, _, _ := strings.Cut(key, "|")
		if len(pair) < 2 || len(pair) > 4 {
			continue
		}
		for _, i := range pair {
			stems[i].Pair = name
		}
	}
}

// pairKey is what stems of one pair have in common: the words of the name but
// for the one that tells them apart, and the set of that one; "" where the
// name has none.
func pairKey(name string) string {
	words := nameWords(name)
	for len(words) > 1 && digits([]byte(words[0])) == len(words[0]) {
		words = words[1:] // the number of the track
	}
	for set, row := range pairWords {
		for i := len(words) - 1; i >= 0; i-- {
			word := words[i]
			if len(words) == 1 && len(word) > 2 {
				for _, end := range row {
					if stem, ok := strings.CutSuffix(word, end); ok && len(stem) >= 2 && wordRoles[stem].role != "" {
						return stem + "|" + string(rune('a'+set))
					}
				}
			}
			if len(words) > 1 && slices.Contains(row, word) {
				rest := slices.Concat(words[:i], words[i+1:])
				return strings.Join(rest, " ") + "|" + string(rune('a'+set))
			}
		}
	}
	return ""
}

// How stems are recognised as one source by their sound. All of these are our
// own choices.
const (
	pairS         = 3.0   // of them that is compared
	coherenceS    = 0.085 // windows
	pairCoherence = 0.62  // least coherence
	pairMost      = 32    // comparisons, at 15 ms of one core each
)

// guessPairs finds stems of one role that hear one source, though their names
// do not say so.
func (f *folder) guessPairs(ctx context.Context, found survey) {
	var tries [][2]int
	for a := range f.sheet.Stems {
		for b := a + 1; b < len(f.sheet.Stems); b++ {
			if f.mayPair(a, b) && !math.IsInf(found.lufs[a]+found.lufs[b], -1) {
				tries = append(tries, [2]int{a, b})
			}
		}
	}
	tries = tries[:min(len(tries), pairMost)]
	alike := make([]bool, len(tries))
	together(len(tries), func(i int) { alike[i] = f.alike(ctx, tries[i][0], tries[i][1], found.loudS[tries[i][0]]) })
	for i, pair := range tries {
		a, b := &f.sheet.Stems[pair[0]], &f.sheet.Stems[pair[1]]
		if alike[i] && b.Pair == "" {
			a.Pair = cmp.Or(a.Pair, a.Name)
			b.Pair = a.Pair
		}
	}
}

// mayPair reports whether two stems are worth comparing. Percussion and backing
// vocals are not: they are often played in one room, and hear each other.
func (f *folder) mayPair(a, b int) bool {
	x, y := f.sheet.Stems[a], f.sheet.Stems[b]
	return x.Pair == "" && y.Pair == "" && x.Role == y.Role && x.RateHz == y.RateHz &&
		!slices.Contains([]Role{"", Percussion, BackingVocal, Click, Mix}, x.Role)
}

// alike reports whether two stems are one source about a moment.
func (f *folder) alike(ctx context.Context, a, b int, atS float64) bool {
	x, err := f.around(ctx, a, atS, pairS)
	if err != nil {
		return false // whoever reads it next is told
	}
	y, err := f.around(ctx, b, atS, pairS)
	return err == nil && len(x) == len(y) && oneSource(x, y, f.sheet.Stems[a].RateHz)
}

// oneSource reports whether two stretches of the same time hold one source at
// two places, or in two lines: whether their coherence, averaged over
// frequencies by how much both have there, is high.
//
//	γ²(f) = |Σ X*(f)·Y(f)|² / (Σ|X(f)|²·Σ|Y(f)|²),  sums over windows of 85 ms
//
// The same notes played twice are not coherent. Source: G. C. Carter, C. H.
// Knapp, A. H. Nuttall, Estimation of the magnitude-squared coherence function
// via overlapped fast Fourier transform processing, IEEE Trans. AU-21 (1973)
// (from memory).
func oneSource(x, y []dsp.Frame, rateHz float64) bool {
	return coherence(middles(x), middles(y), rateHz) >= pairCoherence
}

func coherence(x, y []float64, rateHz float64) float64 {
	size := 1 << int(math.Round(math.Log2(coherenceS*rateHz)))
	fft := fourier.NewFFT(size)
	half := size/2 + 1
	sum := make([]crossSpectrum, half)
	xr, xi, yr, yi := make([]float64, half), make([]float64, half), make([]float64, half), make([]float64, half)
	windowed := make([]float64, size)
	for at := 0; at+size <= min(len(x), len(y)); at += size / 2 {
		fft.Forward(xr, xi, hann(windowed, x[at:]))
		fft.Forward(yr, yi, hann(windowed, y[at:]))
		for k := range sum {
			sum[k].add(complex(xr[k], xi[k]), complex(yr[k], yi[k]))
		}
	}
	total, coherent := 0.0, 0.0
	for _, s := range sum {
		weight := math.Sqrt(s.xx * s.yy)
		if total += weight; weight > 0 {
			coherent += weight * (real(s.xy)*real(s.xy) + imag(s.xy)*imag(s.xy)) / (s.xx * s.yy)
		}
	}
	return coherent / max(total, math.SmallestNonzeroFloat64)
}

// hann copies the first frames of x through a Hann window.
func hann(dst, x []float64) []float64 {
	for i := range dst {
		dst[i] = x[i] * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(dst))))
	}
	return dst
}

// crossSpectrum is one line of two spectra, summed over windows.
type crossSpectrum struct {
	xx, yy float64
	xy     complex128
}

func (s *crossSpectrum) add(x, y complex128) {
	s.xx += real(x)*real(x) + imag(x)*imag(x)
	s.yy += real(y)*real(y) + imag(y)*imag(y)
	s.xy += cmplx.Conj(x) * y
}

// middles are the sums of both channels.
func middles(frames []dsp.Frame) []float64 {
	x := make([]float64, len(frames))
	for i, f := range frames {
		x[i] = f[0] + f[1]
	}
	return x
}

// Partner is the other stem of a pair: the one that comes next, in the order
// of the sheet and from its start again; −1 where there is none.
func (s Sheet) Partner(stem int) int {
	n := len(s.Stems)
	for k := 1; k < n; k++ {
		if i := (stem + k) % n; s.Stems[stem].Pair != "" && s.Stems[i].Pair == s.Stems[stem].Pair {
			return i
		}
	}
	return -1
}
