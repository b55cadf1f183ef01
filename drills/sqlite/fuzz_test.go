package sqlite_test

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"testing"

	"strop/drills/sqlite"
)

// Whatever lies where the history should be, it is opened, named as another's
// or a newer one's and left as it is, or set aside, byte for byte, for a new
// one that works.
func FuzzOpen(f *testing.F) {
	for version := 2; version <= 5; version++ {
		f.Add(read(f, fmt.Sprintf("testdata/history-v%d.db", version)))
	}
	f.Add([]byte("SQLite format 3\x00"))
	f.Add([]byte("RIFF"))
	f.Fuzz(func(t *testing.T, content []byte) {
		path := filepath.Join(t.TempDir(), "history.db")
		write(t, path, content)
		db, err := sqlite.Open(path)
		if err != nil {
			if theirs := errors.Is(err, sqlite.ErrNewer) || errors.Is(err, sqlite.ErrForeign); theirs && !bytes.Equal(read(t, path), content) {
				t.Errorf("%v, and it was changed", err)
			}
			oneSentence(t, err)
			return
		}
		defer db.Close()
		if aside := db.Damaged(); aside != "" && !bytes.Equal(read(t, aside), content) {
			t.Errorf("what was set aside in %s has changed", aside)
		}
		before, err := db.Records(t.Context(), "")
		if err != nil {
			return // a record that cannot be read is said, not left out
		}
		if err := db.Append(t.Context(), record(99)); err != nil {
			oneSentence(t, err)
			return
		}
		if after := all(t, db); len(after) != len(before)+1 {
			t.Errorf("%d records, and one more makes %d", len(before), len(after))
		}
	})
}
