package exchange_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"strop/drills"
	"strop/drills/exchange"
)

func collect(records iter.Seq2[drills.Record, error]) (all []drills.Record, err error) {
	for r, err := range records {
		if err != nil {
			return all, err
		}
		all = append(all, r)
	}
	return all, nil
}

var exports = map[string]func(io.Writer, iter.Seq2[drills.Record, error]) error{"CSV": exchange.ExportCSV, "JSON": exchange.ExportJSON}

func exported(t testing.TB, form string, records []drills.Record) string {
	t.Helper()
	var b bytes.Buffer
	if err := exports[form](&b, each(records, nil)); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// What was written comes back, to the last bit; an empty setting and none are
// the same.
func TestExportsComeBack(t *testing.T) {
	for form := range exports {
		for _, records := range [][]drills.Record{nil, answers()} {
			back, err := collect(exchange.Read(strings.NewReader(exported(t, form, records))))
			if diff := cmp.Diff(records, back, cmpopts.EquateEmpty()); err != nil || diff != "" {
				t.Errorf("%s: %v %s", form, err, diff)
			}
		}
	}
}

// Exports of the program as it was before trials had stems, kept as files.
func TestOlderExports(t *testing.T) {
	var forms [2][]drills.Record
	for i, name := range []string{"history-v2.json", "history-v2.csv"} {
		f, err := os.Open("testdata/" + name)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if forms[i], err = collect(exchange.Read(f)); err != nil || len(forms[i]) != 12 {
			t.Fatalf("%s: %d records, %v", name, len(forms[i]), err)
		}
	}
	if diff := cmp.Diff(forms[0], forms[1], cmpopts.EquateEmpty()); diff != "" {
		t.Error(diff)
	}
	if r := forms[0][1]; r.Trial.Seed != 1<<64-2 || r.Trial.Asked["freqHz"] != 500 || r.Answer.TookS != 4.25 || r.Trial.Stem != 0 {
		t.Errorf("%+v", r)
	}
}

// A reformatted export is still one.
func TestWhiteSpaceAndMarks(t *testing.T) {
	var text bytes.Buffer
	if err := json.Indent(&text, []byte(exported(t, "JSON", answers())), "\t", "  "); err != nil {
		t.Fatal(err)
	}
	if back, err := collect(exchange.Read(strings.NewReader("\ufeff \n\t" + text.String()))); err != nil || len(back) != len(answers()) {
		t.Errorf("%d records, %v", len(back), err)
	}
}

func TestHostileFiles(t *testing.T) {
	j, c := exported(t, "JSON", answers()), exported(t, "CSV", answers())
	for name, file := range map[string]struct {
		text string
		want string // in the error
	}{
		"empty":               {"", "no export"},
		"white space":         {" \n\t", "no export"},
		"prose":               {"Dear diary, today I mixed a song.", "no export"},
		"other JSON":          {`{"name": "song", "tempo": 120}`, "no export"},
		"other array":         {`[1, 2, 3]`, "no export"},
		"other CSV":           {"a,b,c\n1,2,3\n", "no export"},
		"binary":              {"RIFF\x24\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x02", "no export"},
		"SQLite":              {"SQLite format 3\x00\x10\x00\x01", "no export"},
		"newer JSON":          {strings.Replace(j, `"switches"`, `"mood":"fine","switches"`, 1), "newer strop"},
		"newer CSV":           {strings.Replace(c, "soloS\n", "soloS,mood\n", 1), "newer strop"},
		"a column twice":      {strings.Replace(c, "soloS\n", "soloS,kind\n", 1), "newer strop"},
		"JSON cut":            {j[:len(j)/2], "ends in the middle"},
		"JSON cut at the end": {strings.TrimRight(j, "]\n"), "ends in the middle"},
		"CSV cut in a line":   {c[:strings.LastIndex(c, "headphones")], "ends in the middle"},
		"two exports":         {j + j, "something follows"},
		"null":                {"[null]", "year"},
		"a string for number": {strings.Replace(j, `"tookS":3.25`, `"tookS":"long"`, 1), "tookS"},
		"a letter in a cell":  {strings.Replace(c, ",3.25,", ",3.25s,", 1), "tookS"},
		"infinite":            {strings.Replace(c, ",3.25,", ",+Inf,", 1), "tookS"},
		"no number":           {strings.Replace(c, "gainDB=-4.5", "gainDB=NaN", 1), "asked"},
		"too great":           {strings.Replace(j, `"tookS":3.25`, `"tookS":1e999`, 1), "tookS"},
		"below 0":             {strings.Replace(j, `"tookS":3.25`, `"tookS":-3`, 1), "tookS"},
		"no tool":             {strings.Replace(j, `"tool":"theremin"`, `"tool":""`, 1), "tool is empty"},
		"Latin-1":             {strings.Replace(c, "headphones", "h\xf6rer", 1), "UTF-8"},
		"Latin-1 in JSON":     {strings.Replace(j, "headphones", "h\xf6rer", 1), "UTF-8"},
		"before time":         {strings.Replace(j, "2026-05-04T07", "0026-05-04T07", 1), "year"},
		"a long name":         {strings.Replace(j, `"material":"`, `"material":"`+strings.Repeat("x", 2000), 1), "too long"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := collect(exchange.Read(strings.NewReader(file.text)))
			if err == nil || !strings.Contains(err.Error(), file.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v, want %q", err, file.want)
			}
		})
	}
}

// endless is a file that never stops, in the middle of a record.
type endless struct {
	start string
	given int
}

func (e *endless) Read(p []byte) (int, error) {
	n := copy(p, e.start)
	e.start = e.start[n:]
	for i := n; i < len(p); i++ {
		p[i] = 'x'
	}
	e.given += len(p)
	return len(p), nil
}

// A giant file is not read into memory.
func TestEndlessFiles(t *testing.T) {
	for _, start := range []string{"[{\"at\":\"", "x", exported(t, "CSV", answers()) + "\"", strings.TrimRight(exported(t, "JSON", answers()), "]\n") + `,{"at":"`, "[" + strings.Repeat("[", 1000)} {
		file := &endless{start: start}
		if _, err := collect(exchange.Read(file)); err == nil {
			t.Error("an endless file came to an end")
		}
		if file.given > 8<<20 {
			t.Errorf("%.10q: %d bytes were read", start, file.given)
		}
	}
}

func TestErrorOfTheReader(t *testing.T) {
	broken := io.MultiReader(strings.NewReader(exported(t, "JSON", answers())[:2000]), &failing{})
	if _, err := collect(exchange.Read(broken)); !errors.Is(err, errBroken) {
		t.Errorf("got %v", err)
	}
}

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, errBroken }

// Whatever the file holds, reading ends without a panic, and what comes through
// can be written and read again.
func FuzzRead(f *testing.F) {
	for form := range exports {
		f.Add(exported(f, form, answers()[:3]))
	}
	f.Add(`[{"at":"2026-05-04T07:00:00Z"}]`)
	f.Fuzz(func(t *testing.T, text string) {
		records, _ := collect(exchange.Read(strings.NewReader(text)))
		back, err := collect(exchange.Read(strings.NewReader(exported(t, "JSON", records))))
		if diff := cmp.Diff(records, back, cmpopts.EquateEmpty()); err != nil || diff != "" {
			t.Errorf("%v %s", err, diff)
		}
	})
}

func BenchmarkRead(b *testing.B) {
	var many []drills.Record
	for range 300 {
		many = append(many, answers()...)
	}
	for form := range exports {
		text := exported(b, form, many)
		b.Run(form, func(b *testing.B) {
			for b.Loop() {
				for _, err := range exchange.Read(strings.NewReader(text)) {
					if err != nil {
						b.Fatal(err)
					}
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(many)), "ns/record")
		})
	}
}

func ExampleRead() {
	for r, err := range exchange.Read(strings.NewReader(`[{"at":"2026-05-04T07:00:00Z","trial":{"session":"s","number":1,"tool":"eq-band",
		"rung":"ten","condition":{"transducer":"headphones","heard":"mix"},"level":6},"score":{"right":true}}]`)) {
		fmt.Println(r.Trial.Tool, r.Trial.Level, r.Score.Right, err)
	}
	// Output: eq-band 6 true <nil>
}
