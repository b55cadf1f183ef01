package exchange_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"iter"
	"math"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"strop/drills"
	"strop/drills/exchange"
	"strop/dsp"
)

var errBroken = errors.New("the disk is gone")

// each is records one by one, and an error after them where it is not nil.
func each(records []drills.Record, err error) iter.Seq2[drills.Record, error] {
	return func(yield func(drills.Record, error) bool) {
		for _, r := range records {
			if !yield(r, nil) {
				return
			}
		}
		if err != nil {
			yield(drills.Record{}, err)
		}
	}
}

// answers are records of every kind.
func answers() (records []drills.Record) {
	for n := range 30 {
		truth := dsp.Setting{"freqHz": 250 * math.Exp2(float64(n%5)), "gainDB": -4.5}
		r := drills.Record{
			At: time.Date(2026, 5, 4+n/10, 7, 0, n, 123456789, time.UTC),
			Trial: drills.Trial{
				Session: "morning", Number: n + 1, Tool: "theremin", Rung: "ten", Seed: math.MaxUint64 - uint64(n), Level: 4.5,
				Condition: drills.Condition{Transducer: "headphones", Heard: drills.InMix}, Asked: truth, Truth: truth,
				Loop: drills.Loop{Material: "sha256:0f", StartFrame: 480000, Frames: 384000, RateHz: 48000}, ResidualLU: -0.01,
			},
			Answer: drills.Answer{Guess: truth.With("freqHz", 1000), TookS: 3.25, Switches: n},
			Score:  drills.Score{Right: n%2 == 0, Errors: map[string]float64{"errorOct": 0.1 * float64(n-15)}},
		}
		if n%3 == 0 {
			r.Trial.Kind, r.Trial.Stem, r.Trial.On, r.Trial.Role, r.Trial.Choices = drills.Probe, 2, "Lead, dry", drills.LeadVocal, 10
			r.Trial.AudibleDB, r.Trial.Chance, r.Trial.RoveDB = 2.5, 0.83, 3
			r.Answer.Intent, r.Answer.SoloS = dsp.Setting{"gainDB": -3}, 1.5
		}
		if n%7 == 6 {
			r.Trial.Truth, r.Score.Errors = dsp.Setting{}, nil
		}
		records = append(records, r)
	}
	awkward := records[0]
	awkward.At = time.Date(2026, 5, 4, 9, 0, 0, 123456789, time.FixedZone("", 7200))
	awkward.Trial.Session = "a \"quoted\", comma\nand line"
	awkward.Trial.ResidualLU, awkward.Score.Right = math.SmallestNonzeroFloat64, true
	awkward.Trial.Asked = dsp.Setting{"q": 0.1, "freqHz": 1e21, "gainDB": -math.MaxFloat64}
	return append(records, awkward)
}

func TestCSV(t *testing.T) {
	records := answers()
	var b bytes.Buffer
	if err := exchange.ExportCSV(&b, each(records, nil)); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != len(records)+1 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for i, r := range records {
		cells := map[string]string{}
		for k, name := range rows[0] {
			cells[name] = rows[i+1][k]
		}
		level, _ := strconv.ParseFloat(cells["level"], 64)
		residual, _ := strconv.ParseFloat(cells["residualLU"], 64)
		seed, _ := strconv.ParseUint(cells["seed"], 10, 64)
		at, _ := time.Parse(time.RFC3339Nano, cells["at"])
		if level != r.Trial.Level || residual != r.Trial.ResidualLU || seed != r.Trial.Seed || !at.Equal(r.At) ||
			cells["session"] != r.Trial.Session || cells["right"] != strconv.FormatBool(r.Score.Right) {
			t.Fatalf("row %d: %q", i+1, rows[i+1])
		}
		asked := dsp.Setting{}
		for _, word := range strings.Fields(cells["asked"]) {
			id, value, _ := strings.Cut(word, "=")
			asked[id], _ = strconv.ParseFloat(value, 64)
		}
		if diff := cmp.Diff(r.Trial.Asked, asked); diff != "" {
			t.Fatal(diff)
		}
	}
}

func TestExportedJSONComesBack(t *testing.T) {
	for _, records := range [][]drills.Record{{}, answers()} {
		var b bytes.Buffer
		if err := exchange.ExportJSON(&b, each(records, nil)); err != nil {
			t.Fatal(err)
		}
		back := []drills.Record{}
		if err := json.Unmarshal(b.Bytes(), &back); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(records, back); diff != "" {
			t.Error(diff)
		}
	}
}

func TestExportStopsAtAnError(t *testing.T) {
	for name, export := range map[string]func(*bytes.Buffer) error{
		"CSV":  func(b *bytes.Buffer) error { return exchange.ExportCSV(b, each(answers(), errBroken)) },
		"JSON": func(b *bytes.Buffer) error { return exchange.ExportJSON(b, each(answers(), errBroken)) },
	} {
		var b bytes.Buffer
		if err := export(&b); !errors.Is(err, errBroken) || !strings.Contains(b.String(), "theremin") {
			t.Errorf("%s: %v after %d bytes", name, err, b.Len())
		}
	}
}

// A field that is added to drills.Record needs a column.
func TestEveryFieldHasAColumn(t *testing.T) {
	var b bytes.Buffer
	if err := exchange.ExportCSV(&b, each(nil, nil)); err != nil {
		t.Fatal(err)
	}
	columns := len(strings.Split(b.String(), ","))
	if fields := leaves(reflect.TypeFor[drills.Record]()); fields != columns {
		t.Errorf("drills.Record has %d fields, the table %d columns", fields, columns)
	}
}

// leaves is the number of fields in a type and the types it holds.
func leaves(t reflect.Type) (n int) {
	if t.Kind() != reflect.Struct || t == reflect.TypeFor[time.Time]() {
		return 1
	}
	for f := range t.NumField() {
		n += leaves(t.Field(f).Type)
	}
	return n
}
