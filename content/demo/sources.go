package demo

import (
	"cmp"
	"slices"
	"strings"
)

// Source is a group of samples in the bank, and whose they are.
type Source struct {
	Group   string // such as "drums"
	Author  string
	Licence string
	Package string // in which they came
	Files   int
}

// Sources are all that the bank is made of, as its manifest says, by group.
func Sources() ([]Source, error) {
	text, err := files.ReadFile("bank/manifest.tsv")
	if err != nil {
		return nil, err
	}
	var all []Source
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n")[1:] {
		f := strings.Split(line, "\t") // file sha256 group licence author package …
		s := Source{Group: f[2], Licence: f[3], Author: f[4], Package: f[5]}
		i := slices.IndexFunc(all, func(o Source) bool { o.Files = 0; return o == s })
		if i < 0 {
			i, all = len(all), append(all, s)
		}
		all[i].Files++
	}
	slices.SortStableFunc(all, func(a, b Source) int { return cmp.Or(cmp.Compare(a.Group, b.Group), cmp.Compare(a.Author, b.Author)) })
	return all, nil
}
