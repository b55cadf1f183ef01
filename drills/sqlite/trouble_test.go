package sqlite_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"strop/drills"
	"strop/drills/sqlite"
)

// kept makes a history with n records and closes it.
func kept(t *testing.T, path string, n int) {
	t.Helper()
	db := open(t, path)
	for i := range n {
		appendAll(t, db, record(i))
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

func oneSentence(t *testing.T, err error) {
	t.Helper()
	if text := err.Error(); strings.ContainsAny(text, "\n") || text == "" {
		t.Errorf("not one sentence: %q", text)
	}
}

func TestNewerHistoryIsLeftAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	kept(t, path, 3)
	other := raw(t, path)
	if _, err := other.Exec(`PRAGMA user_version = 99; ALTER TABLE record ADD COLUMN mood TEXT`); err != nil {
		t.Fatal(err)
	}
	other.Close()
	before := read(t, path)
	_, err := sqlite.Open(path)
	if !errors.Is(err, sqlite.ErrNewer) {
		t.Fatalf("got %v", err)
	}
	oneSentence(t, err)
	if !bytes.Equal(before, read(t, path)) {
		t.Error("the file was altered")
	}
}

func TestForeignFileIsLeftAlone(t *testing.T) {
	for name, script := range map[string]string{
		"a table":    `CREATE TABLE invoice (id INTEGER)`,
		"a version":  `PRAGMA user_version = 1`,
		"another ID": `PRAGMA application_id = 7; CREATE TABLE invoice (id INTEGER)`,
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "books.db")
			other := raw(t, path)
			if _, err := other.Exec(script); err != nil {
				t.Fatal(err)
			}
			other.Close()
			before := read(t, path)
			if _, err := sqlite.Open(path); !errors.Is(err, sqlite.ErrForeign) {
				t.Fatalf("got %v", err)
			}
			if !bytes.Equal(before, read(t, path)) {
				t.Error("the file was altered")
			}
		})
	}
}

// An older history is brought up to date with its records.
func TestOlderHistory(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	script := read(t, "migrations/0001_history.sql")
	other := raw(t, path)
	if _, err := other.Exec(string(script) + `PRAGMA user_version = 1`); err != nil {
		t.Fatal(err)
	}
	if _, err := other.Exec(`INSERT INTO record VALUES (1, 1000000000, 's', 1, 'eq-band', 'ten', 'headphones', 'mix', -1, 3,
		'h', 0, 1, 48000, '{}', '{}', 0, 0, 0, '{}', 1, 0, 1, 'null')`); err != nil {
		t.Fatal(err)
	}
	other.Close()
	db := open(t, path)
	if got := all(t, db); len(got) != 1 || got[0].Trial.Seed != 1<<64-1 || got[0].At.Unix() != 1 {
		t.Errorf("%+v", got)
	}
	if err := db.Put(t.Context(), "k", "v"); err != nil {
		t.Error(err)
	}
}

func TestDamagedHistoryIsSetAside(t *testing.T) {
	for name, damage := range map[string]func([]byte) []byte{
		"no database": func([]byte) []byte { return []byte("Dear diary, today I mixed a song about a bus.") },
		"header":      func(b []byte) []byte { copy(b, "broken"); return b },
		"half":        func(b []byte) []byte { return b[:len(b)/2] },
		"a page":      func(b []byte) []byte { copy(b[len(b)-4096:], bytes.Repeat([]byte{0xaa}, 4096)); return b },
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "history.db")
			kept(t, path, 200)
			damaged := damage(read(t, path))
			write(t, path, damaged)
			db := open(t, path)
			if db.Damaged() == "" || !strings.Contains(db.Damaged(), "damaged-20") {
				t.Fatalf("set aside as %q", db.Damaged())
			}
			if !bytes.Equal(damaged, read(t, db.Damaged())) {
				t.Error("the file set aside was altered")
			}
			appendAll(t, db, record(7))
			if diff := cmp.Diff([]drills.Record{record(7)}, all(t, db)); diff != "" {
				t.Error(diff)
			}
			if again := open(t, path); again.Damaged() != "" {
				t.Error("the new history counts as damaged")
			}
		})
	}
}

// A second damaged file of the same date does not overwrite the first.
func TestSettingAsideOverwritesNothing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "history.db")
	seen := map[string]bool{}
	info := func() os.FileInfo { i, err := os.Stat(path); must(t, err); return i }
	var when os.FileInfo
	for i := range 3 {
		write(t, path, []byte(strings.Repeat("no database ", 100+i)))
		if when == nil {
			when = info()
		}
		must(t, os.Chtimes(path, when.ModTime(), when.ModTime()))
		db := open(t, path)
		seen[db.Damaged()] = true
		must(t, db.Close())
	}
	for name := range seen {
		if len(read(t, name)) < 1200 {
			t.Errorf("%s was overwritten", name)
		}
	}
	if len(seen) != 3 {
		t.Errorf("set aside as %v", seen)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestFolderThatIsAFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	write(t, file, nil)
	_, err := sqlite.Open(filepath.Join(file, "history.db"))
	if err == nil || !strings.Contains(err.Error(), "cannot be written") {
		t.Fatalf("got %v", err)
	}
	oneSentence(t, err)
}
