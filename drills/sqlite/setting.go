package sqlite

import (
	"context"
	"database/sql"
	"errors"
)

// Put remembers a setting of the program, in place of what it was.
func (db *DB) Put(ctx context.Context, key, value string) error {
	_, err := db.pool.ExecContext(ctx, `INSERT INTO setting (key, value) VALUES (?, ?)
		ON CONFLICT (key) DO UPDATE SET value = excluded.value`, key, value)
	return explain(db.path, err)
}

// Get is a remembered setting; ok is false where it was never put.
func (db *DB) Get(ctx context.Context, key string) (value string, ok bool, err error) {
	err = db.pool.QueryRowContext(ctx, `SELECT value FROM setting WHERE key = ?`, key).Scan(&value)
	if errors.Is(err, sql.ErrNoRows) {
		return "", false, nil
	}
	return value, err == nil, explain(db.path, err)
}
