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

	"strop/dsp/eq"
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

// Recordings that scores use as notes have the pitch and the cents that a
// score says: the strongest of three partials within 2 cents; all of them
// together, by autocorrelation, within 25, because real strings and bars are
// stretched.
func TestSamplesAreInTune(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range mustSongs(t) {
		for _, src := range s.score.sources {
			for _, snd := range src.sounds {
				for _, file := range snd.samples {
					if src.kind != "notes" || seen[file] {
						continue
					}
					seen[file] = true
					x, err := readSample(file)
					if err != nil {
						t.Fatal(err)
					}
					noteHz := 440 * math.Exp2((snd.note-69)/12)
					if off := tuning(x[0], noteHz); math.Abs(off) > 2 {
						t.Errorf("%s is %.1f cents off what %s says of it", file, off, snd.name)
					}
					if off := cents(pitchHz(x[0]), noteHz); math.Abs(math.Remainder(off, 1200)) > 25 { // it takes a bell for its octave
						t.Errorf("%s is called %s and sounds %.1f cents off", file, snd.name, off)
					}
				}
			}
		}
	}
	if len(seen) < 30 {
		t.Errorf("%d recordings were measured", len(seen))
	}
}

// Where a group of the bank ends, and that no other group does below 10 kHz:
// what lies above is 38 dB below the rest or less. A cymbal of the bank shows that the
// measure can tell.
func TestBankLimits(t *testing.T) {
	above := func(x []float64, hz float64) float64 {
		total := rmsDB(x)
		y := slices.Clone(x)
		for _, c := range eq.ButterworthHighPass(rateHz, hz, 8) {
			filter(y, c)
		}
		return rmsDB(y) - total
	}
	piano, err := readSample("piano/ff52.flac")
	if err != nil {
		t.Fatal(err)
	}
	voice, err := readVoice("s-a", new(kernels))
	if err != nil {
		t.Fatal(err)
	}
	cymbal, err := readSample("cymbals/ride1.flac")
	if err != nil {
		t.Fatal(err)
	}
	for name, got := range map[string]float64{
		"piano": above(piano[0], bankLimitsHz["piano"]), "voice": above(voice, bankLimitsHz["voice"]+1000),
	} {
		if got > -38 {
			t.Errorf("%s: %.1f dB above its limit", name, got)
		}
	}
	if got := above(cymbal[0], 15000); got < -25 {
		t.Errorf("a ride has %.1f dB above 15 kHz", got)
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
