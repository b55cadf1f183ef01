package content

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"strop/dsp"
	"strop/dsp/measure"
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

// How stems are recognised as one source by their sound.
const (
	pairS        = 1.0  // of them that is compared
	pairMS       = 15.0 // greatest delay: 5 m of way in air
	pairLikeness = 0.25 // least height of the phase transform's peak
	pairMost     = 32   // comparisons, at 30 ms of one core each
)

// guessPairs finds stems of one role that hear one source, though their names
// do not say so.
func (f *folder) guessPairs(ctx context.Context, found survey) {
	var tries [][2]int
	for a, s := range f.sheet.Stems {
		for b := a + 1; b < len(f.sheet.Stems); b++ {
			if f.mayPair(a, b) && s.Role != Click && !math.IsInf(found.lufs[a]+found.lufs[b], -1) {
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

// mayPair reports whether two stems are worth comparing.
func (f *folder) mayPair(a, b int) bool {
	x, y := f.sheet.Stems[a], f.sheet.Stems[b]
	return x.Pair == "" && y.Pair == "" && x.Role == y.Role && x.Role != "" && x.RateHz == y.RateHz
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
// two places, or in two lines.
func oneSource(x, y []dsp.Frame, rateHz float64) bool {
	a := measure.Align(middles(x), middles(y))
	return a.Likeness >= pairLikeness && math.Abs(a.DelayFrames) <= pairMS/1000*rateHz
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
