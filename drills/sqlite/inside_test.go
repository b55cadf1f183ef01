package sqlite

import (
	"context"
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
