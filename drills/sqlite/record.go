package sqlite

import (
	"context"
	"database/sql/driver"
	"encoding/json"
	"fmt"
	"iter"
	"math"
	"strings"
	"time"

	"strop/drills"
)

// columns of a record, in the order of fields.
const columns = `at, session, number, tool, rung, transducer, heard, seed, level,
	material, start_frame, frames, rate_hz, asked, truth, untouched_db, changed_db, residual_lu,
	guess, took_s, switches, "right", errors,
	kind, stem, stem_name, role, choices, audible_db, chance, rove_db, intent, solo_s`

var insertRecord = `INSERT INTO record (` + columns + `) VALUES (?` + strings.Repeat(`, ?`, strings.Count(columns, ",")) + `)`

// fields are where the columns come from and go to.
func fields(r *drills.Record) []any {
	t, a := &r.Trial, &r.Answer
	return []any{
		(*nanoseconds)(&r.At), &t.Session, &t.Number, &t.Tool, &t.Rung,
		&t.Condition.Transducer, &t.Condition.Heard, (*bits)(&t.Seed), &t.Level,
		&t.Loop.Material, &t.Loop.StartFrame, &t.Loop.Frames, &t.Loop.RateHz,
		(*numbers)(&t.Asked), (*numbers)(&t.Truth), &t.UntouchedDB, &t.ChangedDB, &t.ResidualLU,
		(*numbers)(&a.Guess), &a.TookS, &a.Switches, &r.Score.Right, (*numbers)(&r.Score.Errors),
		(*string)(&t.Kind), &t.Stem, &t.On, (*string)(&t.Role), &t.Choices, &t.AudibleDB, &t.Chance, &t.RoveDB,
		(*numbers)(&a.Intent), &a.SoloS,
	}
}

// Append keeps one record, as one transaction that has reached the disk when
// it returns. An answer once given is kept even where ctx has been cancelled.
// It refuses a record that would not come back as it is: a number that is not
// finite, a time outside the years 1678 to 2261. A time comes back in UTC,
// -0 as 0.
func (db *DB) Append(ctx context.Context, r drills.Record) error {
	values := fields(&r)
	for i, v := range values {
		if f, ok := v.(*float64); ok && (math.IsNaN(*f) || math.IsInf(*f, 0)) {
			return fmt.Errorf("the record cannot be kept: its %s is not a finite number", strings.TrimSpace(strings.Split(columns, ",")[i]))
		}
	}
	_, err := db.insert.ExecContext(context.WithoutCancel(ctx), values...)
	return explain(db.path, err)
}

// Records are all records of a tool, in the order in which they were kept;
// all tools where it is "".
func (db *DB) Records(ctx context.Context, tool string) (records []drills.Record, err error) {
	for r, err := range db.All(ctx, tool) {
		if err != nil {
			return nil, err
		}
		records = append(records, r)
	}
	return records, nil
}

// All is Records one by one. It ends with an error where one occurs.
func (db *DB) All(ctx context.Context, tool string) iter.Seq2[drills.Record, error] {
	return func(yield func(drills.Record, error) bool) {
		query, args := `SELECT `+columns+` FROM record ORDER BY id`, []any{}
		if tool != "" {
			query, args = `SELECT `+columns+` FROM record WHERE tool = ? ORDER BY id`, []any{tool}
		}
		rows, err := db.pool.QueryContext(ctx, query, args...)
		if err != nil {
			yield(drills.Record{}, explain(db.path, err))
			return
		}
		defer rows.Close()
		for rows.Next() {
			var r drills.Record
			if err := rows.Scan(fields(&r)...); err != nil {
				yield(drills.Record{}, explain(db.path, err))
				return
			}
			if !yield(r, nil) {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(drills.Record{}, explain(db.path, err))
		}
	}
}

// nanoseconds is a time as Unix nanoseconds.
type nanoseconds time.Time

func (n nanoseconds) Value() (driver.Value, error) {
	t := time.Time(n)
	ns := t.UnixNano()
	if !time.Unix(0, ns).Equal(t) {
		return nil, fmt.Errorf("the time %v is outside the years 1678 to 2261", t)
	}
	return ns, nil
}

func (n *nanoseconds) Scan(v any) error {
	ns, ok := v.(int64)
	*n = nanoseconds(time.Unix(0, ns).UTC())
	return wantType(ok, v)
}

// bits is 64 bits as SQLite's signed integer.
type bits uint64

func (b bits) Value() (driver.Value, error) { return int64(b), nil }

func (b *bits) Scan(v any) error {
	i, ok := v.(int64)
	*b = bits(i)
	return wantType(ok, v)
}

// numbers is a setting or the errors of an answer, as JSON.
type numbers map[string]float64

func (n numbers) Value() (driver.Value, error) {
	text, err := json.Marshal(map[string]float64(n))
	if err != nil {
		return nil, fmt.Errorf("the record cannot be kept: %w", err)
	}
	return string(text), nil
}

func (n *numbers) Scan(v any) error {
	text, ok := v.(string)
	if !ok {
		return wantType(ok, v)
	}
	return json.Unmarshal([]byte(text), (*map[string]float64)(n))
}

func wantType(ok bool, v any) error {
	if !ok {
		return fmt.Errorf("a column holds %T", v)
	}
	return nil
}
