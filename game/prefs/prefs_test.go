package prefs_test

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"strop/drills/sqlite"
	"strop/game/prefs"
)

func store(t *testing.T) *sqlite.DB {
	t.Helper()
	db, err := sqlite.Open(filepath.Join(t.TempDir(), "history.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// Every field comes back, and each has a key: none is at its default here.
func TestEveryPreferenceComesBack(t *testing.T) {
	db := store(t)
	p := prefs.Prefs{
		Night: true, TextScale: 1.5, Still: true, Transducer: "headphones", Device: "USB desk", RateHz: 96000,
		PeriodFrames: 128, LevelDB: -12.5, LevelSet: time.Date(2026, 3, 2, 7, 30, 0, 0, time.UTC), Trials: 12, Minutes: 20, Drill: "eq-gain",
		Window: prefs.Window{X: -5, Y: 40, Width: 1280, Height: 800},
	}
	for v, i := reflect.ValueOf(p), reflect.ValueOf(p).NumField(); i > 0; i-- {
		if v.Field(i - 1).IsZero() {
			t.Errorf("%s is not tested", v.Type().Field(i-1).Name)
		}
	}
	if err := p.Save(t.Context(), db, prefs.Default()); err != nil {
		t.Fatal(err)
	}
	got, err := prefs.Load(t.Context(), db)
	if err != nil || got != p {
		t.Errorf("%v: %+v, want %+v", err, got, p)
	}
}

func TestNewcomer(t *testing.T) {
	if p, err := prefs.Load(t.Context(), store(t)); err != nil || p != prefs.Default() {
		t.Errorf("%v: %+v", err, p)
	}
}

// A setting that nobody can read is told, and does not take the others along.
func TestUnreadableSetting(t *testing.T) {
	db := store(t)
	for key, text := range map[string]string{"textScale": "9", "trials": "many", "night": "true", "window": "1 2"} {
		if err := db.Put(t.Context(), key, text); err != nil {
			t.Fatal(err)
		}
	}
	p, err := prefs.Load(t.Context(), db)
	want := prefs.Default()
	want.Night = true
	if p != want || err == nil || strings.Count(err.Error(), "cannot be read") != 3 {
		t.Errorf("%v: %+v", err, p)
	}
}
