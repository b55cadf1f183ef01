package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"math"
	"os"
	"slices"
	"strings"

	"strop/drills"
	"strop/drills/exchange"
)

// HeldError is returned for a record that could not reach the disk. It is held
// in memory: Records tells it like any other, each later Append tries again to
// keep it, and Save writes it elsewhere.
type HeldError struct {
	Reason error // one sentence
	Count  int   // of the records held so far
}

// Error is one sentence.
func (e *HeldError) Error() string {
	if e.Count == 0 {
		return e.Reason.Error()
	}
	return fmt.Sprintf("%v; %s held in memory until then", e.Reason, counted(e.Count))
}

// Unwrap is the reason.
func (e *HeldError) Unwrap() error { return e.Reason }

func counted(n int) string {
	if n == 1 {
		return "1 answer is"
	}
	return fmt.Sprintf("%d answers are", n)
}

// Append keeps one record, as one transaction that has reached the disk when
// it returns. An answer once given is kept even where ctx has been cancelled.
// Where the disk does not take it, it is held in memory, and the error is a
// *HeldError.
//
// It refuses a record that would not come back as it is: a number that is not
// finite, a time outside the years 1678 to 2261. A time comes back in UTC,
// -0 as 0.
func (db *DB) Append(ctx context.Context, r drills.Record) error {
	if err := storable(&r); err != nil {
		return err
	}
	ctx = context.WithoutCancel(ctx)
	db.holding.Lock()
	defer db.holding.Unlock()
	db.held = append(db.held, r)
	return db.flush(ctx)
}

// flush brings what is held to the disk. The lock is the caller's.
func (db *DB) flush(ctx context.Context) error {
	reason := db.unwritable
	if reason == nil && len(db.held) > 0 {
		if reason = explain(db.path, db.keep(ctx, db.held)); reason == nil {
			db.held = nil
		}
	}
	if reason == nil {
		return nil
	}
	return &HeldError{reason, len(db.held)}
}

// keep inserts records, all or none: one by itself without a transaction of
// its own, which is a tenth faster.
func (db *DB) keep(ctx context.Context, records []drills.Record) error {
	if len(records) == 1 {
		_, err := db.insert.ExecContext(ctx, fields(&records[0])...)
		return err
	}
	return db.inOne(ctx, func(tx *sql.Tx) error {
		insert := tx.StmtContext(ctx, db.insert)
		for i := range records {
			if _, err := insert.ExecContext(ctx, fields(&records[i])...); err != nil {
				return err
			}
		}
		return nil
	})
}

// inOne does something in one transaction.
func (db *DB) inOne(ctx context.Context, do func(*sql.Tx) error) error {
	tx, err := db.pool.BeginTx(ctx, nil) // immediate: waits for other writers
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if err := do(tx); err != nil {
		return err
	}
	return tx.Commit()
}

// storable reports why a record would not come back as it is.
func storable(r *drills.Record) error {
	for i, v := range fields(r) {
		switch v := v.(type) {
		case *float64:
			if math.IsNaN(*v) || math.IsInf(*v, 0) {
				return fmt.Errorf("the record cannot be kept: its %s is not a finite number", column(i))
			}
		case driver.Valuer:
			if _, err := v.Value(); err != nil {
				return fmt.Errorf("the record cannot be kept: its %s: %w", column(i), err)
			}
		}
	}
	return nil
}

// column is the name of a column.
func column(i int) string { return strings.Trim(strings.Split(columns, ",")[i], " \n\t\"") }

// Held is nil where every record given so far has reached the disk. Else it
// tells why not, and how many are held.
func (db *DB) Held() *HeldError {
	db.holding.Lock()
	defer db.holding.Unlock()
	if db.unwritable == nil && len(db.held) == 0 {
		return nil
	}
	err := new(HeldError)
	if errors.As(db.flush(context.Background()), &err) {
		return err
	}
	return nil
}

// Save writes the records that are held to a new file, in the form that
// exchange.Read reads, and returns once they have reached its disk. It
// overwrites nothing. The records stay held.
func (db *DB) Save(path string) (err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already; choose another name", path)
	}
	if err != nil {
		return explain(path, err)
	}
	defer func() {
		if closed := f.Close(); err == nil {
			err = closed
		}
		if err != nil {
			os.Remove(path) // what is only half there helps nobody
			err = explain(path, err)
		}
	}()
	if err := exchange.ExportJSON(f, each(db.copyHeld())); err != nil {
		return err
	}
	return f.Sync()
}

func (db *DB) copyHeld() []drills.Record {
	db.holding.Lock()
	defer db.holding.Unlock()
	return slices.Clone(db.held)
}

func each(records []drills.Record) iter.Seq2[drills.Record, error] {
	return func(yield func(drills.Record, error) bool) {
		for _, r := range records {
			if !yield(r, nil) {
				return
			}
		}
	}
}
