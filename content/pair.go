package content

import (
	"slices"
	"strings"
)

// pairWords are the words by which microphones, and lines, on one source
// differ: a set a row. Common practice, no source.
var pairWords = [][]string{
	{"l", "r"}, {"left", "right"}, {"in", "out", "inside", "outside", "sub", "beater"},
	{"top", "bottom", "bot", "btm", "up", "down", "under", "t", "b"},
	{"di", "amp", "mic", "cab", "line", "micro"}, {"near", "far", "close", "mid", "side"},
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
