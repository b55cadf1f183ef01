package demo_test

import (
	"os"
	"strings"
	"testing"

	"strop/content/demo"
)

// Every source of the bank is named in the README of the project, with author,
// licence and package, and the sources account for every sample.
func TestSourcesAreAttributed(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	sources, err := demo.Sources()
	if err != nil {
		t.Fatal(err)
	}
	manifest, err := os.ReadFile("bank/manifest.tsv")
	if err != nil {
		t.Fatal(err)
	}
	files := 0
	for _, s := range sources {
		files += s.Files
		named := false
		for line := range strings.Lines(string(readme)) {
			author := strings.Contains(line, s.Author) || s.Author == "see source" && strings.Contains(line, "each at its source")
			named = named || strings.HasPrefix(line, "|") && author && strings.Contains(line, s.Group) &&
				strings.Contains(line, s.Licence) && strings.Contains(line, s.Package)
		}
		if !named {
			t.Errorf("no row of the README names %+v", s)
		}
	}
	if rows := strings.Count(strings.TrimSpace(string(manifest)), "\n"); files != rows || len(sources) < 5 {
		t.Errorf("%d sources of %d files; the manifest has %d", len(sources), files, rows)
	}
}
