package sqlite_test

import (
	"errors"
	"iter"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"strop/drills"
	"strop/drills/sqlite"
)

func each(err error, records ...drills.Record) iter.Seq2[drills.Record, error] {
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

func TestImport(t *testing.T) {
	db := open(t, filepath.Join(t.TempDir(), "history.db"))
	appendAll(t, db, record(0), record(1))
	added, known, err := db.Import(t.Context(), each(nil, record(1), record(2), record(2), record(3)))
	if added != 2 || known != 2 || err != nil {
		t.Errorf("%d added, %d known, %v", added, known, err)
	}
	if diff := cmp.Diff([]drills.Record{record(0), record(1), record(2), record(3)}, all(t, db)); diff != "" {
		t.Error(diff)
	}
}

// All or nothing: whatever is wrong, nothing of the file is kept.
func TestImportIsAllOrNothing(t *testing.T) {
	db := open(t, filepath.Join(t.TempDir(), "history.db"))
	appendAll(t, db, record(0))
	cut := errors.New("the export ends in the middle")
	altered := record(0)
	altered.Score.Right = !altered.Score.Right
	infinite := record(8)
	infinite.At = infinite.At.AddDate(1000, 0, 0)
	for want, records := range map[string]iter.Seq2[drills.Record, error]{
		cut.Error():     each(cut, record(1), record(2)),
		"never altered": each(nil, record(3), altered),
		"year":          each(nil, record(4), infinite),
	} {
		added, known, err := db.Import(t.Context(), records)
		if added+known != 0 || err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %d, %d, %v", want, added, known, err)
		}
		oneSentence(t, err)
	}
	if diff := cmp.Diff([]drills.Record{record(0)}, all(t, db)); diff != "" {
		t.Error(diff)
	}
}

// Two windows and an import at once: nothing is lost or there twice, and each
// window sees what the others kept.
func TestTwoWindowsAndAnImport(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	one, two := open(t, path), open(t, path)
	const each60 = 60
	cmd, out := keeper(t, path, 3*each60, each60)
	var all3 sync.WaitGroup
	fail := func(err error) {
		if err != nil {
			t.Error(err)
		}
	}
	all3.Go(func() {
		for i := range each60 {
			fail(one.Append(t.Context(), record(i)))
			if got, err := one.Records(t.Context(), ""); err != nil || len(got) < i+1 {
				t.Errorf("%d records after %d: %v", len(got), i+1, err)
			}
		}
	})
	all3.Go(func() {
		for i := range each60 {
			fail(two.Put(t.Context(), "transducer", "headphones"))
			fail(two.Append(t.Context(), record(each60+i)))
		}
	})
	all3.Go(func() {
		for range 3 { // the same file three times
			_, _, err := two.Import(t.Context(), func(yield func(drills.Record, error) bool) {
				for i := range each60 {
					if !yield(record(2*each60+i), nil) {
						return
					}
				}
			})
			fail(err)
		}
	})
	for out.Scan() {
	}
	fail(cmd.Wait())
	all3.Wait()
	checkNumbers(t, one, 4*each60)
	checkNumbers(t, two, 4*each60)
}

func TestSnapshots(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	db := open(t, path)
	appendAll(t, db, record(0), record(1), record(2))
	if content, upto, err := db.Snapshot(t.Context(), "a"); content != nil || upto != 0 || err != nil {
		t.Errorf("before there is one: %v %d %v", content, upto, err)
	}
	var last int64
	must(t, db.EachSince(t.Context(), 0, func(number int64, _ drills.Record) { last = number }))
	must(t, db.PutSnapshot(t.Context(), "a", []byte("state"), last))
	appendAll(t, db, record(3))
	content, upto, err := open(t, path).Snapshot(t.Context(), "a")
	if string(content) != "state" || upto != last || err != nil {
		t.Errorf("%q %d %v", content, upto, err)
	}
	var since []drills.Record
	must(t, db.EachSince(t.Context(), upto, func(_ int64, r drills.Record) { since = append(since, r) }))
	if diff := cmp.Diff([]drills.Record{record(3)}, since); diff != "" {
		t.Error(diff)
	}
	must(t, db.PutSnapshot(t.Context(), "b", []byte("other"), 1)) // another computation's: the first is thrown away
	if content, _, _ := db.Snapshot(t.Context(), "a"); content != nil {
		t.Error("an old snapshot is kept")
	}
}

var _ drills.Store = (*sqlite.DB)(nil)
