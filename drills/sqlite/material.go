package sqlite

import (
	"context"
	"time"
)

// Material is a song that was practised on: remembered, never copied.
type Material struct {
	Hash      string // of its content
	Path      string // where it was last
	Title     string
	DurationS float64
	RateHz    float64
	LastUsed  time.Time // comes back in UTC
}

func (m *Material) fields() []any {
	return []any{&m.Hash, &m.Path, &m.Title, &m.DurationS, &m.RateHz, (*nanoseconds)(&m.LastUsed)}
}

// RememberMaterial keeps m in place of what was remembered of the same
// content.
func (db *DB) RememberMaterial(ctx context.Context, m Material) error {
	_, err := db.pool.ExecContext(ctx, `INSERT INTO material (hash, path, title, duration_s, rate_hz, last_used)
		VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (hash) DO UPDATE SET path = excluded.path, title = excluded.title,
		duration_s = excluded.duration_s, rate_hz = excluded.rate_hz, last_used = excluded.last_used`, m.fields()...)
	return explain(db.path, err)
}

// Materials are all that is remembered, the last used first.
func (db *DB) Materials(ctx context.Context) (all []Material, err error) {
	rows, err := db.pool.QueryContext(ctx, `SELECT hash, path, title, duration_s, rate_hz, last_used
		FROM material ORDER BY last_used DESC, hash`)
	if err != nil {
		return nil, explain(db.path, err)
	}
	defer rows.Close()
	for rows.Next() {
		var m Material
		if err := rows.Scan(m.fields()...); err != nil {
			return nil, explain(db.path, err)
		}
		all = append(all, m)
	}
	return all, explain(db.path, rows.Err())
}

// LastMaterial is the last used; ok is false where none is remembered.
func (db *DB) LastMaterial(ctx context.Context) (m Material, ok bool, err error) {
	all, err := db.Materials(ctx)
	if err != nil || len(all) == 0 {
		return Material{}, false, err
	}
	return all[0], true, nil
}
