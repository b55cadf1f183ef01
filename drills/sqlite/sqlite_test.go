package sqlite_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/ncruces/go-sqlite3/driver"
	"pgregory.net/rapid"

	"strop/drills"
	"strop/drills/sqlite"
	"strop/dsp"
)

func open(t testing.TB, path string) *sqlite.DB {
	t.Helper()
	db, err := sqlite.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// raw is the same file without any of our code.
func raw(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := driver.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func record(n int) drills.Record {
	return drills.Record{
		At: time.Date(2026, 5, 4, 7, 0, n, 0, time.UTC),
		Trial: drills.Trial{
			Session: "morning", Number: n, Tool: "eq-band", Rung: "ten", Seed: math.MaxUint64 - uint64(n), Level: 4.5,
			Condition:  drills.Condition{Transducer: "headphones", Heard: "mix"},
			Loop:       drills.Loop{Material: "sha256:0f", StartFrame: 480000, Frames: 384000, RateHz: 48000},
			Asked:      dsp.Setting{"freqHz": 1000, "gainDB": 4.5, "q": math.Sqrt2},
			Truth:      dsp.Setting{"freqHz": 1000, "gainDB": 4.5, "q": math.Sqrt2},
			ResidualLU: 0.013,
		},
		Answer: drills.Answer{Guess: dsp.Setting{"freqHz": 2000, "gainDB": 4.5, "q": math.Sqrt2}, TookS: 3.25, Switches: 4},
		Score:  drills.Score{Errors: map[string]float64{"errorOct": 1}},
	}
}

func appendAll(t testing.TB, db *sqlite.DB, records ...drills.Record) {
	t.Helper()
	for _, r := range records {
		if err := db.Append(t.Context(), r); err != nil {
			t.Fatal(err)
		}
	}
}

func all(t testing.TB, db *sqlite.DB) []drills.Record {
	t.Helper()
	records, err := db.Records(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	return records
}

var (
	anyFloat = rapid.OneOf(
		rapid.Float64Range(-1e4, 1e4), rapid.Float64Range(-math.MaxFloat64, math.MaxFloat64),
		rapid.SampledFrom([]float64{0, math.MaxFloat64, math.SmallestNonzeroFloat64, -math.SmallestNonzeroFloat64,
			1 << 53, 1<<53 + 2, 0.1, math.Nextafter(1, 2), 1e-310, 48000}))
	anyInt     = rapid.OneOf(rapid.IntRange(0, 1000), rapid.Int())
	anySetting = rapid.Custom(func(t *rapid.T) map[string]float64 {
		if rapid.Bool().Draw(t, "none") {
			return rapid.SampledFrom([]map[string]float64{nil, {}}).Draw(t, "empty")
		}
		return rapid.MapOf(rapid.String(), anyFloat).Draw(t, "values")
	})
	anyRecord = rapid.Custom(func(t *rapid.T) drills.Record {
		s, f, i := rapid.String(), anyFloat, anyInt
		return drills.Record{
			At: time.Unix(0, rapid.Int64().Draw(t, "at")).UTC(),
			Trial: drills.Trial{
				Session: s.Draw(t, "session"), Number: i.Draw(t, "number"),
				Tool: s.Draw(t, "tool"), Rung: s.Draw(t, "rung"),
				Condition: drills.Condition{Transducer: s.Draw(t, "transducer"), Heard: s.Draw(t, "heard")},
				Seed:      rapid.Uint64().Draw(t, "seed"), Level: f.Draw(t, "level"),
				Loop: drills.Loop{Material: s.Draw(t, "material"), StartFrame: i.Draw(t, "start"),
					Frames: i.Draw(t, "frames"), RateHz: f.Draw(t, "rate")},
				Asked: anySetting.Draw(t, "asked"), Truth: anySetting.Draw(t, "truth"),
				UntouchedDB: f.Draw(t, "untouched"), ChangedDB: f.Draw(t, "changed"), ResidualLU: f.Draw(t, "residual"),
			},
			Answer: drills.Answer{Guess: anySetting.Draw(t, "guess"), TookS: f.Draw(t, "took"), Switches: i.Draw(t, "switches")},
			Score:  drills.Score{Right: rapid.Bool().Draw(t, "right"), Errors: anySetting.Draw(t, "errors")},
		}
	})
)

func TestEveryFieldComesBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	db := open(t, path)
	kept := 0
	rapid.Check(t, func(t *rapid.T) {
		want := anyRecord.Draw(t, "record")
		if err := db.Append(context.Background(), want); err != nil {
			t.Fatal(err)
		}
		got, err := db.Records(context.Background(), "")
		if err != nil {
			t.Fatal(err)
		}
		if kept++; len(got) != kept {
			t.Fatalf("%d records, want %d", len(got), kept)
		}
		if diff := cmp.Diff(want, got[kept-1]); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestRecordsOfOneToolInOrder(t *testing.T) {
	db := open(t, filepath.Join(t.TempDir(), "history.db"))
	first, other, second := record(2), record(3), record(1)
	other.Trial.Tool = "eq-gain"
	appendAll(t, db, first, other, second)
	got, err := db.Records(t.Context(), "eq-band")
	if diff := cmp.Diff([]drills.Record{first, second}, got); err != nil || diff != "" {
		t.Errorf("%v %s", err, diff)
	}
	if got := all(t, db); len(got) != 3 {
		t.Errorf("%d records in all", len(got))
	}
	if got, err := db.Records(t.Context(), "none"); err != nil || len(got) != 0 {
		t.Errorf("%v, %v", got, err)
	}
	for range db.All(t.Context(), "") {
		break
	}
	appendAll(t, db, record(4)) // what was left early holds nothing up
}

// A time keeps its instant, not its zone.
func TestTimesComeBackInUTC(t *testing.T) {
	db := open(t, filepath.Join(t.TempDir(), "history.db"))
	r := record(1)
	r.At = time.Date(2026, 3, 29, 2, 30, 0, 123456789, time.FixedZone("", 2*3600))
	appendAll(t, db, r)
	if got := all(t, db)[0].At; !got.Equal(r.At) || got.Location() != time.UTC {
		t.Errorf("%v came back as %v", r.At, got)
	}
}

// What would not come back as it is, is refused.
func TestUnkeepableRecords(t *testing.T) {
	db := open(t, filepath.Join(t.TempDir(), "history.db"))
	for want, spoil := range map[string]func(*drills.Record){
		"residual_lu": func(r *drills.Record) { r.Trial.ResidualLU = math.Inf(-1) },
		"took_s":      func(r *drills.Record) { r.Answer.TookS = math.NaN() },
		"NaN":         func(r *drills.Record) { r.Score.Errors = map[string]float64{"errorOct": math.NaN()} },
		"year":        func(r *drills.Record) { r.At = time.Time{} },
	} {
		r := record(1)
		spoil(&r)
		if err := db.Append(t.Context(), r); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
	if got := all(t, db); len(got) != 0 {
		t.Errorf("%d records kept", len(got))
	}
}

// An answer that is given while the program is being stopped is kept.
func TestAppendAfterCancel(t *testing.T) {
	db := open(t, filepath.Join(t.TempDir(), "history.db"))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := db.Append(ctx, record(1)); err != nil || len(all(t, db)) != 1 {
		t.Errorf("not kept: %v", err)
	}
}

func TestRecordsAreNeverAltered(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	db := open(t, path)
	appendAll(t, db, record(1))
	for _, change := range []string{
		`UPDATE record SET "right" = 1`,
		`DELETE FROM record`,
		`INSERT OR REPLACE INTO record SELECT * FROM record`,
		`REPLACE INTO record SELECT * FROM record`,
	} {
		if _, err := raw(t, path).Exec(change); err == nil || !strings.Contains(err.Error(), "a record is never") {
			t.Errorf("%s: %v", change, err)
		}
	}
	if diff := cmp.Diff([]drills.Record{record(1)}, all(t, db)); diff != "" {
		t.Error(diff)
	}
}

// What makes a commit reach the disk. Source: SQLite, PRAGMA synchronous:
// FULL is 2; with it, a commit in WAL mode is durable across a power cut.
func TestCommitsReachTheDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	db := open(t, path)
	if mode, sync := db.Journal(t); mode != "wal" || sync != 2 {
		t.Errorf("journal %s, synchronous %d", mode, sync)
	}
}

func TestTwoHandles(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	const each = 100
	done := make(chan error, 2)
	for h := range 2 {
		db := open(t, path)
		go func() {
			var err error
			for i := range each {
				err = errors.Join(err, db.Append(t.Context(), record(h*each+i)))
			}
			done <- err
		}()
	}
	if err := errors.Join(<-done, <-done); err != nil {
		t.Fatal(err)
	}
	checkNumbers(t, open(t, path), 2*each)
}

// checkNumbers wants the records 0 to n−1, each once.
func checkNumbers(t *testing.T, db *sqlite.DB, n int) {
	t.Helper()
	var numbers []int
	for _, r := range all(t, db) {
		numbers = append(numbers, r.Trial.Number)
	}
	slices.Sort(numbers)
	for i, got := range numbers {
		if got != i {
			t.Fatalf("record %d is missing or there twice", i)
		}
	}
	if len(numbers) != n {
		t.Fatalf("%d records, want %d", len(numbers), n)
	}
}

// A power cut leaves the log cut off or torn anywhere. Whatever had been
// committed before the cut is there, and nothing after it.
func TestLogCutAnywhere(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "history.db")
	db := open(t, path)
	var ends []int // length of the log after the i-th record
	for i := range 40 {
		appendAll(t, db, record(i))
		info, err := os.Stat(path + "-wal")
		if err != nil {
			t.Fatal(err)
		}
		ends = append(ends, int(info.Size()))
	}
	file, log := read(t, path), read(t, path+"-wal")
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 60 {
		cut := r.IntN(len(log) + 1)
		torn := slices.Clone(log[:cut])
		for range i % 2 * 100 { // every second time the rest is noise
			torn = append(torn, byte(r.Uint32()))
		}
		copied := filepath.Join(dir, fmt.Sprintf("cut%d.db", i))
		write(t, copied, file)
		write(t, copied+"-wal", torn)
		want := 0
		for want < len(ends) && ends[want] <= cut {
			want++
		}
		again := open(t, copied)
		checkNumbers(t, again, want)
		if again.Damaged() != "" {
			t.Errorf("cut at %d counts as damage", cut)
		}
		again.Close()
	}
}

func read(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func write(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestMaterials(t *testing.T) {
	db := open(t, filepath.Join(t.TempDir(), "history.db"))
	if _, ok, err := db.LastMaterial(t.Context()); ok || err != nil {
		t.Fatalf("none is remembered: %v %v", ok, err)
	}
	day := time.Date(2026, 5, 4, 7, 0, 0, 0, time.UTC)
	a := sqlite.Material{Hash: "a", Path: "/music/a.wav", Title: "a", DurationS: 201.5, RateHz: 44100, LastUsed: day}
	b := sqlite.Material{Hash: "b", Path: "/music/b.flac", Title: "b", DurationS: 90, RateHz: 96000, LastUsed: day.Add(time.Hour)}
	moved := a
	moved.Path, moved.LastUsed = "/new/a.wav", day.Add(2*time.Hour)
	for _, m := range []sqlite.Material{a, b, moved} {
		if err := db.RememberMaterial(t.Context(), m); err != nil {
			t.Fatal(err)
		}
	}
	got, err := db.Materials(t.Context())
	if diff := cmp.Diff([]sqlite.Material{moved, b}, got); err != nil || diff != "" {
		t.Errorf("%v %s", err, diff)
	}
	never := sqlite.Material{Hash: "c", Path: "/music/c", Title: "c", DurationS: 3, RateHz: 48000}
	again := moved
	again.LastUsed = time.Time{} // it was put into the library anew: that is no use
	for _, m := range []sqlite.Material{never, again} {
		must(t, db.RememberMaterial(t.Context(), m))
	}
	got, err = db.Materials(t.Context())
	if diff := cmp.Diff([]sqlite.Material{moved, b, never}, got); err != nil || diff != "" {
		t.Errorf("%v %s", err, diff)
	}
	if last, ok, err := db.LastMaterial(t.Context()); last != moved || !ok || err != nil {
		t.Errorf("last: %+v %v %v", last, ok, err)
	}
}

func TestSettings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	db := open(t, path)
	if _, ok, err := db.Get(t.Context(), "transducer"); ok || err != nil {
		t.Errorf("never put: %v %v", ok, err)
	}
	for _, v := range []string{"loudspeakers", ""} {
		if err := db.Put(t.Context(), "transducer", v); err != nil {
			t.Fatal(err)
		}
		if got, ok, err := open(t, path).Get(t.Context(), "transducer"); got != v || !ok || err != nil {
			t.Errorf("put %q, got %q %v %v", v, got, ok, err)
		}
	}
}

func Example() {
	dir, _ := os.MkdirTemp("", "")
	defer os.RemoveAll(dir)
	db, err := sqlite.Open(filepath.Join(dir, "history.db"))
	if err != nil {
		fmt.Println(err)
		return
	}
	defer db.Close()
	db.Append(context.Background(), drills.Record{At: time.Unix(0, 0), Trial: drills.Trial{Tool: "eq-band", Level: 6}})
	records, err := db.Records(context.Background(), "eq-band")
	fmt.Println(len(records), records[0].Trial.Level, err)
	// Output: 1 6 <nil>
}

// A field that is added to drills.Record needs a column.
func TestEveryFieldHasAColumn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	open(t, path)
	var columns int
	must(t, raw(t, path).QueryRow(`SELECT count(*) FROM pragma_table_info('record') WHERE name <> 'id'`).Scan(&columns))
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
