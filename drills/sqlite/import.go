package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"reflect"

	"strop/drills"
)

// Import keeps records that were exported, in their order, all or none. A
// record that is here already, by its time, sitting, number and drill, is
// known and not kept twice; one that differs from the one that is here ends it
// with an error, as records are never altered. It also ends at the first error
// of records.
func (db *DB) Import(ctx context.Context, records iter.Seq2[drills.Record, error]) (added, known int, err error) {
	db.holding.Lock()
	defer db.holding.Unlock()
	if db.unwritable != nil {
		return 0, 0, db.unwritable
	}
	err = db.inOne(ctx, func(tx *sql.Tx) error {
		insert := tx.StmtContext(ctx, db.insert)
		find, err := tx.PrepareContext(ctx, findRecord)
		if err != nil {
			return err
		}
		defer find.Close()
		for r, err := range records {
			if err != nil {
				return notOurs{err}
			}
			if err := storable(&r); err != nil {
				return notOurs{err}
			}
			there, err := sameRecord(ctx, find, r)
			if err != nil {
				return err
			}
			if there {
				known++
				continue
			}
			if _, err := insert.ExecContext(ctx, fields(&r)...); err != nil {
				return err
			}
			added++
		}
		return ctx.Err()
	})
	if theirs := new(notOurs); errors.As(err, theirs) {
		return 0, 0, theirs.error
	}
	if err != nil {
		return 0, 0, explain(db.path, err)
	}
	return added, known, nil
}

// notOurs is an error that has nothing to do with the history.
type notOurs struct{ error }

const findRecord = `SELECT ` + columns + ` FROM record WHERE at = ? AND session = ? AND number = ? AND tool = ?`

// sameRecord looks whether a record is here, by findRecord.
func sameRecord(ctx context.Context, find *sql.Stmt, r drills.Record) (bool, error) {
	rows, err := find.QueryContext(ctx,
		(*nanoseconds)(&r.At), r.Trial.Session, r.Trial.Number, r.Trial.Tool)
	if err != nil {
		return false, err
	}
	defer rows.Close()
	if !rows.Next() {
		return false, rows.Err()
	}
	var here drills.Record
	if err := rows.Scan(fields(&here)...); err != nil {
		return false, err
	}
	if !sameFields(&here, &r) {
		return false, notOurs{fmt.Errorf("trial %d of sitting %s is here already and differs; records are never altered", r.Trial.Number, r.Trial.Session)}
	}
	return true, nil
}

// sameFields compares as what is kept: an empty setting is none, and a time is
// its instant.
func sameFields(a, b *drills.Record) bool {
	theirs := fields(b)
	for i, v := range fields(a) {
		switch v := v.(type) {
		case *numbers:
			if w := theirs[i].(*numbers); len(*v)+len(*w) > 0 && !reflect.DeepEqual(v, w) {
				return false
			}
		case *nanoseconds:
		default:
			if !reflect.DeepEqual(v, theirs[i]) {
				return false
			}
		}
	}
	return true
}
