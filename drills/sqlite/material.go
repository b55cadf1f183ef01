package sqlite

import (
	"context"
	"database/sql/driver"
	"time"
)

// Material is a song that was practised on, or put into the library:
// remembered, never copied.
type Material struct {
	Hash      string // of its content
	Path      string // where it was last
	Title     string
	DurationS float64
	RateHz    float64
	LastUsed  time.Time // comes back in UTC; zero: never
}

func (m *Material) fields() []any {
	return []any{&m.Hash, &m.Path, &m.Title, &m.DurationS, &m.RateHz, (*sometime)(&m.LastUsed)}
}

// sometime is a time as Unix nanoseconds, or 0 for none.
type sometime time.Time

func (s sometime) Value() (driver.Value, error) {
	if time.Time(s).IsZero() {
		return int64(0), nil
	}
	return nanoseconds(s).Value()
}

func (s *sometime) Scan(v any) error {
	if v == int64(0) {
		*s = sometime{}
		return nil
	}
	return (*nanoseconds)(s).Scan(v)
}

// RememberMaterial keeps m in place of what was remembered of the same
// content, but for when it was used: the later time stays.
func (db *DB) RememberMaterial(ctx context.Context, m Material) error {
	_, err := db.pool.ExecContext(ctx, `INSERT INTO material (hash, path, title, duration_s, rate_hz, last_used)
		VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (hash) DO UPDATE SET path = excluded.path, title = excluded.title,
		duration_s = excluded.duration_s, rate_hz = excluded.rate_hz, last_used = max(last_used, excluded.last_used)`, m.fields()...)
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
	if err != nil || len(all) == 0 || all[0].LastUsed.IsZero() {
		return Material{}, false, err
	}
	return all[0], true, nil
}
