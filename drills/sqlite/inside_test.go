package sqlite

import (
	"context"
	"encoding/json"
	"maps"
	"testing"

	"strop/drills"
)

// Journal is how a connection writes.
func (db *DB) Journal(t *testing.T) (mode string, synchronous int) {
	t.Helper()
	for pragma, into := range map[string]any{"journal_mode": &mode, "synchronous": &synchronous} {
		if err := db.pool.QueryRow("PRAGMA " + pragma).Scan(into); err != nil {
			t.Fatal(err)
		}
	}
	return mode, synchronous
}

// FillDisk leaves the file no page to grow by: SQLite then fails as it does
// on a full disk.
func (db *DB) FillDisk(t *testing.T) {
	t.Helper()
	db.pool.SetMaxOpenConns(1)
	if _, err := db.pool.Exec("PRAGMA max_page_count = 1"); err != nil { // raised to the present size
		t.Fatal(err)
	}
}

// AppendAtOnce keeps many records in one transaction, for benchmarks.
func (db *DB) AppendAtOnce(t testing.TB, records []drills.Record) {
	t.Helper()
	tx, err := db.pool.Begin()
	if err != nil {
		t.Fatal(err)
	}
	insert := tx.Stmt(db.insert)
	for i := range records {
		if _, err := insert.ExecContext(context.Background(), fields(&records[i])...); err != nil {
			t.Fatal(err)
		}
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
}

// The fast way to read numbers says what the general one says, or leaves the
// text to it.
func FuzzNumbers(f *testing.F) {
	for _, text := range []string{`{"freqHz":1000,"gainDB":-6.5}`, `{}`, `null`, `{"a":1e3,"b":"2"}`, `{"a":1,}`, `{"a\u0062":1}`, `{"a":{"b":1}}`,
		`{"a":01}`, `{"a":+1}`, `{"a":.5}`, `{"a":1_0}`, `{"a":0x1p4}`, `{"a":Inf}`, `{"a":1,"a":2}`, `{"a":1e999}`, `{"é":1}`, "{\"a\xff\":1}"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		plain, ok := parsePlain(text)
		if !ok {
			return
		}
		var general map[string]float64
		if err := json.Unmarshal([]byte(text), &general); err != nil || !maps.Equal(plain, general) || (plain == nil) != (general == nil) {
			t.Errorf("%q is %v, by the general way %v: %v", text, plain, general, err)
		}
	})
}
