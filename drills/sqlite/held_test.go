package sqlite_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"strop/drills"
	"strop/drills/exchange"
	"strop/drills/sqlite"
)

// appendUntilHeld keeps records until one does not reach the disk, and returns
// how many there were before it.
func appendUntilHeld(t *testing.T, db *sqlite.DB) (kept int, held *sqlite.HeldError) {
	t.Helper()
	for n := range 10000 {
		err := db.Append(t.Context(), record(n))
		if errors.As(err, &held) {
			return n, held
		}
		must(t, err)
	}
	t.Fatal("10 000 records filled nothing")
	return 0, nil
}

// A file that cannot grow: what was said to be kept is, the rest is held,
// told with the others, saved elsewhere, and comes back by an import.
func TestFullFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "history.db")
	db := open(t, path)
	must(t, db.Append(t.Context(), record(-1)))
	db.FillDisk(t)
	kept, held := appendUntilHeld(t, db)
	if !strings.HasPrefix(held.Error(), "the disk is full") || held.Count != 1 {
		t.Fatalf("after %d records: %v", kept, held)
	}
	oneSentence(t, held)
	for n := kept + 1; n < kept+3; n++ {
		if err := db.Append(t.Context(), record(n)); !errors.As(err, &held) || held.Count != n-kept+1 {
			t.Errorf("record %d: %v", n, err)
		}
	}
	if got := all(t, db); len(got) != kept+4 || got[kept+3].Trial.Number != kept+2 {
		t.Errorf("%d records, want %d with those held", len(got), kept+4)
	}
	if got, err := db.Records(t.Context(), "eq-gain"); err != nil || len(got) != 0 {
		t.Errorf("of another tool: %d, %v", len(got), err)
	}
	saved := filepath.Join(dir, "saved.json")
	must(t, db.Save(saved))
	if err := db.Save(saved); err == nil || !strings.Contains(err.Error(), "choose another name") {
		t.Errorf("saved over a file: %v", err)
	}
	if err := db.Close(); !errors.As(err, &held) {
		t.Errorf("closed with records held: %v", err)
	}
	again := open(t, path)
	if got := all(t, again); len(got) != kept+1 {
		t.Errorf("%d on the disk, want %d", len(got), kept+1)
	}
	importFile(t, again, saved, 3, 0)
	importFile(t, again, saved, 0, 3)
	if got := all(t, again); len(got) != kept+4 {
		t.Errorf("%d after the import", len(got))
	}
}

func importFile(t *testing.T, db *sqlite.DB, path string, added, known int) {
	t.Helper()
	f, err := os.Open(path)
	must(t, err)
	defer f.Close()
	gotAdded, gotKnown, err := db.Import(t.Context(), exchange.Read(f))
	if gotAdded != added || gotKnown != known || err != nil {
		t.Fatalf("%d added, %d known, %v; want %d and %d", gotAdded, gotKnown, err, added, known)
	}
}

// A disk that is full, truly: held at first, kept as soon as there is room.
func TestFullDisk(t *testing.T) {
	dir := smallDisk(t, "size=512k")
	path := filepath.Join(dir, "history.db")
	db := open(t, path)
	filler := filepath.Join(dir, "filler")
	must(t, os.WriteFile(filler, make([]byte, 100<<10), 0o600))
	kept, held := appendUntilHeld(t, db)
	oneSentence(t, held)
	t.Logf("after %d records: %v", kept, held)
	if db.Held() == nil || len(all(t, db)) != kept+1 {
		t.Error("what is held is not told")
	}
	must(t, os.Remove(filler))
	must(t, db.Append(t.Context(), record(kept+1)))
	if held := db.Held(); held != nil {
		t.Errorf("there is room, and it is held: %v", held)
	}
	checkNumbers(t, open(t, path), kept+2)
}

// A disk without any room when the program starts: what was is there, and
// practice goes on in memory.
func TestOpenOnFullDisk(t *testing.T) {
	dir := smallDisk(t, "size=256k")
	path := filepath.Join(dir, "history.db")
	kept(t, path, 5)
	must(t, fill(filepath.Join(dir, "filler")))
	db := openAnyway(t, path)
	if held := db.Held(); held == nil {
		t.Fatal("a history on a disk without room is said to be writable")
	}
	checkCopy(t, db, 5, t.TempDir())
	// Nor is there room where there is no history yet.
	other := openAnyway(t, filepath.Join(dir, "new", "history.db"))
	checkCopy(t, other, 0, t.TempDir())
}

// fill writes until nothing more fits.
func fill(path string) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	for size := 1 << 16; size > 0; size /= 2 {
		for err = nil; err == nil; {
			_, err = f.Write(make([]byte, size))
		}
	}
	return nil
}

func openAnyway(t *testing.T, path string) *sqlite.DB {
	t.Helper()
	db, err := sqlite.OpenAnyway(path)
	must(t, err)
	t.Cleanup(func() { db.Close() })
	return db
}

// checkCopy wants a copy with n records that can be practised on, and saved in
// dir.
func checkCopy(t *testing.T, db *sqlite.DB, n int, dir string) {
	t.Helper()
	if got := all(t, db); len(got) != n {
		t.Fatalf("%d records can be read, want %d", len(got), n)
	}
	held := db.Held()
	if held == nil || held.Count != 0 {
		t.Fatalf("it does not tell that it is a copy: %v", held)
	}
	oneSentence(t, held)
	for i := range 3 {
		if err := db.Append(t.Context(), record(n+i)); !errors.As(err, &held) || held.Count != i+1 {
			t.Errorf("record %d: %v", i, err)
		}
	}
	checkNumbers(t, db, n+3)
	if err := db.Put(t.Context(), "levelSetAt", "now"); err != nil {
		t.Errorf("a setting: %v", err)
	}
	saved := filepath.Join(dir, "saved.json")
	must(t, db.Save(saved))
	f, err := os.Open(saved)
	must(t, err)
	defer f.Close()
	var back []drills.Record
	for r, err := range exchange.Read(f) {
		must(t, err)
		back = append(back, r)
	}
	want := []drills.Record{record(n), record(n + 1), record(n + 2)}
	if diff := cmp.Diff(want, back, cmpopts.EquateEmpty()); diff != "" {
		t.Error(diff)
	}
	if _, _, err := db.Import(t.Context(), nil); err == nil {
		t.Error("a copy takes an import that would be lost")
	}
}

func TestOpenAnywayOpens(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	db := openAnyway(t, path)
	must(t, db.Append(t.Context(), record(0)))
	if held := db.Held(); held != nil {
		t.Error(held)
	}
	checkNumbers(t, open(t, path), 1)
}

// What is not to be opened is not to be opened anyway either.
func TestOpenAnywayRefuses(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	kept(t, path, 1)
	other := raw(t, path)
	_, err := other.Exec(`PRAGMA user_version = 99`)
	must(t, err)
	other.Close()
	if _, err := sqlite.OpenAnyway(path); !errors.Is(err, sqlite.ErrNewer) {
		t.Errorf("got %v", err)
	}
}

// A file, in a place where a folder should be.
func TestOpenAnywayWithoutFolder(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	write(t, file, nil)
	checkCopy(t, openAnyway(t, filepath.Join(file, "history.db")), 0, t.TempDir())
}
