package demo

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"math"
	"path"
	"slices"
	"strings"
	"testing"
)

// readManifest is the manifest as rows of columns, without the heading.
func readManifest(t *testing.T) [][]string {
	t.Helper()
	text, err := files.ReadFile("bank/manifest.tsv")
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]string
	for _, line := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
		rows = append(rows, strings.Split(line, "\t"))
	}
	if want := "file sha256 group licence author package original changes source"; strings.Join(rows[0], " ") != want {
		t.Fatalf("the heading is %q, want %q", rows[0], want)
	}
	return rows[1:]
}

func TestBankIsFreeAndWhole(t *testing.T) {
	allowed := []string{"CC0-1.0", "public domain", "MIT", "CC-BY-3.0"}
	listed := map[string]bool{}
	for _, row := range readManifest(t) {
		if len(row) != 9 {
			t.Errorf("%s: %d columns, want 9", row[0], len(row))
			continue
		}
		listed[row[0]] = true
		data, err := files.ReadFile("bank/" + row[0])
		if err != nil {
			t.Errorf("%s is listed, but not there", row[0])
		} else if got := fmt.Sprintf("%x", sha256.Sum256(data)); got != row[1] {
			t.Errorf("%s: SHA-256 is %s, the manifest says %s", row[0], got, row[1])
		}
		if !slices.Contains(allowed, row[3]) {
			t.Errorf("%s: licence %q is not one of %q", row[0], row[3], allowed)
		}
		if row[4] == "" || row[5] == "" || row[2] != path.Dir(row[0]) {
			t.Errorf("%s: author %q, package %q, group %q", row[0], row[4], row[5], row[2])
		}
		name, _, _ := strings.Cut(row[5], " ")
		if _, err := files.ReadFile("bank/licences/" + name + ".copyright.txt"); err != nil {
			t.Errorf("%s: no licence text for package %s", row[0], name)
		}
	}
	total := int64(0)
	err := fs.WalkDir(files, "bank", func(name string, d fs.DirEntry, err error) error {
		if err != nil || path.Ext(name) != ".flac" && path.Ext(name) != ".ogg" {
			return err
		}
		if !listed[strings.TrimPrefix(name, "bank/")] {
			t.Errorf("%s is not in the manifest", name)
		}
		info, err := d.Info()
		total += info.Size()
		return err
	})
	if err != nil {
		t.Error(err)
	}
	if total > 21e6 || len(listed) != 545 {
		t.Errorf("the bank has %d files, %d bytes", len(listed), total)
	}
}

// The README names every author and every licence of the bank.
func TestBankIsAttributed(t *testing.T) {
	readme, err := files.ReadFile("bank/README.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range readManifest(t) {
		for _, word := range []string{row[3], row[4], row[8]} {
			if word != "see source" && !strings.Contains(string(readme), word) {
				t.Errorf("%s: the README does not name %q", row[0], word)
			}
		}
	}
}

func mustParse(t testing.TB, name string) *score {
	t.Helper()
	text, err := files.Open("scores/" + name + ".txt")
	if err != nil {
		t.Fatal(err)
	}
	defer text.Close()
	s, err := parseScore(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A pitched sample has the pitch that its name in the score says: measured by autocorrelation, the recordings being what they are
// within 20 cents.
func TestSamplesAreInTune(t *testing.T) {
	for _, row := range rows {
		for _, st := range mustParse(t, row.name).stems {
			for _, snd := range st.sounds {
				for _, file := range snd.samples {
					s, err := readSample(file)
					if err != nil {
						t.Error(err)
						continue
					}
					if note := 69 + 12*math.Log2(pitchHz(s[0])/440); st.pitched && math.Abs(note-snd.note) > 0.2 {
						t.Errorf("%s is called %s, note %g, and sounds as %.2f", file, snd.name, snd.note, note)
					}
				}
			}
		}
	}
}

// pitchHz is the pitch of x after its attack: the first lag at which it is
// nearly as like itself as it ever is.
func pitchHz(x []float64) float64 {
	x = x[min(4000, len(x)/2):min(18000, len(x))]
	const lo, hi = 40, 1700
	like, best := make([]float64, hi+1), 0.0
	for lag := lo; lag < hi; lag++ {
		var xy, xx, yy float64
		for i, v := range x[min(lag, len(x)):] {
			xy += v * x[i]
			xx += v * v
			yy += x[i] * x[i]
		}
		like[lag] = xy / math.Sqrt(xx*yy+1e-30)
		best = max(best, like[lag])
	}
	for lag := lo + 1; lag < hi; lag++ {
		a, b, c := like[lag-1], like[lag], like[lag+1]
		if b > 0.93*best && b >= a && b >= c {
			return rateHz / (float64(lag) + (a-c)/(2*(a-2*b+c)))
		}
	}
	return 0
}

func TestReadSampleRefuses(t *testing.T) {
	for _, file := range []string{"drums/none.flac", "manifest.tsv", "../scores/kettle.txt"} {
		if _, err := readSample(file); err == nil {
			t.Errorf("%s was read", file)
		}
	}
}
