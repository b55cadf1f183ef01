package sqlite_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"strop/drills"
	"strop/drills/exchange"
	"strop/drills/sqlite"
)

// A history of each version is kept in testdata, as the program of that time
// wrote it, with what that program exported from it: history-v2.db is of the
// commit "dsp/fault: what a fault reports; DC". Version 1 was never written by
// any. Each opens with all its records, and can be written.
func TestHistoryOfEveryVersion(t *testing.T) {
	steps, err := filepath.Glob("migrations/*.sql")
	must(t, err)
	for version := 2; version <= len(steps); version++ {
		t.Run(fmt.Sprint(version), func(t *testing.T) {
			name := fmt.Sprintf("testdata/history-v%d", version)
			if _, err := os.Stat(name + ".db"); err != nil {
				t.Fatalf("the schema has a version %d; keep a history of it (STROP_TEST_FIXTURE=1 go test ./drills/sqlite -run KeepFixture)", version)
			}
			var want []drills.Record
			must(t, json.Unmarshal(read(t, name+".json"), &want))
			path := filepath.Join(t.TempDir(), "history.db")
			write(t, path, read(t, name+".db"))
			db := open(t, path)
			if diff := cmp.Diff(want, all(t, db), cmpopts.EquateEmpty()); diff != "" || len(want) == 0 {
				t.Errorf("%d records: %s", len(want), diff)
			}
			if m, ok, err := db.LastMaterial(t.Context()); !ok || err != nil || m.Title != "night bus" {
				t.Errorf("material: %+v %v", m, err)
			}
			if v, _, err := db.Get(t.Context(), "transducer"); v != "headphones" || err != nil {
				t.Errorf("setting: %q %v", v, err)
			}
			must(t, db.Append(t.Context(), record(99)))
			importFile(t, db, name+".json", 0, len(want))
		})
	}
}

// TestKeepFixture writes the history of the present version to testdata, when
// it is asked to and there is none yet: run it once for each new migration.
func TestKeepFixture(t *testing.T) {
	steps, err := filepath.Glob("migrations/*.sql")
	must(t, err)
	name := fmt.Sprintf("testdata/history-v%d", len(steps))
	if os.Getenv("STROP_TEST_FIXTURE") == "" {
		if _, err := os.Stat(name + ".db"); err != nil {
			t.Errorf("there is no %s.db", name)
		}
		return
	}
	path := filepath.Join(t.TempDir(), "history.db")
	db := open(t, path)
	for n := range 12 {
		r := record(n)
		if n%3 == 0 {
			r.Trial.Kind, r.Trial.Stem, r.Trial.On, r.Trial.Role, r.Trial.Choices = drills.Probe, 2, "Lead", drills.LeadVocal, 10
			r.Trial.AudibleDB, r.Trial.Chance, r.Trial.RoveDB = 2.5, 0.83, 3
			r.Answer.Intent, r.Answer.SoloS = map[string]float64{"gainDB": -3}, 1.5
		}
		must(t, db.Append(t.Context(), r))
	}
	must(t, db.RememberMaterial(t.Context(), sqlite.Material{Hash: "sha256:0f", Path: "/music/night bus.wav", Title: "night bus",
		DurationS: 201.5, RateHz: 48000, LastUsed: record(0).At}))
	must(t, db.Put(t.Context(), "transducer", "headphones"))
	f, err := os.OpenFile(name+".json", os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	must(t, err)
	defer f.Close()
	must(t, exchange.ExportJSON(f, db.All(t.Context(), "")))
	must(t, db.Close())
	write(t, name+".db", read(t, path))
}
