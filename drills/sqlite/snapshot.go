package sqlite

import (
	"context"
	"database/sql"
	"errors"

	"strop/drills"
)

// Snapshot is what was computed from the records up to one of them: its
// content, and the number of that record in the order of keeping. There may be
// none: upto is then 0.
func (db *DB) Snapshot(ctx context.Context, name string) (content []byte, upto int64, err error) {
	err = db.pool.QueryRowContext(ctx, `SELECT content, upto FROM snapshot WHERE name = ?`, name).Scan(&content, &upto)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, 0, nil
	}
	return content, upto, explain(db.path, err)
}

// PutSnapshot keeps one in place of all others, whatever their names: they are
// of other versions of the computation.
func (db *DB) PutSnapshot(ctx context.Context, name string, content []byte, upto int64) error {
	return explain(db.path, db.inOne(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM snapshot`); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO snapshot (name, upto, content) VALUES (?, ?, ?)`, name, upto, content)
		return err
	}))
}

// EachSince calls do with each record kept after one of them, by its number in
// the order of keeping, and with its own; 0 for all. Records that are held
// come last, with the number 0.
func (db *DB) EachSince(ctx context.Context, after int64, do func(number int64, r drills.Record)) error {
	for r, err := range db.query(ctx, `SELECT id, `+columns+` FROM record WHERE id > ? ORDER BY id`, "", after) {
		if err != nil {
			return err
		}
		do(r.number, r.Record)
	}
	return nil
}

// numbered is a record and its number in the order of keeping.
type numbered struct {
	number int64
	drills.Record
}
