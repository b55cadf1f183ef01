package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"encoding/json"
	"fmt"
	"iter"
	"slices"
	"strconv"
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
	found := db.query(ctx, `SELECT id, `+columns+` FROM record ORDER BY id`, "")
	if tool != "" {
		found = db.query(ctx, `SELECT id, `+columns+` FROM record WHERE tool = ? ORDER BY id`, tool, tool)
	}
	return func(yield func(drills.Record, error) bool) {
		for r, err := range found {
			if !yield(r.Record, err) {
				return
			}
		}
	}
}

// query is what a query finds, then the records of a tool that are held.
func (db *DB) query(ctx context.Context, query, tool string, args ...any) iter.Seq2[numbered, error] {
	return func(yield func(numbered, error) bool) {
		rows, held, more, err := db.begin(ctx, query, args)
		if err != nil {
			yield(numbered{}, explain(db.path, err))
			return
		}
		defer rows.Close()
		var r numbered
		row := append([]any{&r.number}, fields(&r.Record)...)
		for ; more; more = rows.Next() {
			r = numbered{} // its maps belong to whoever had the last one
			if err := rows.Scan(row...); err != nil {
				yield(numbered{}, explain(db.path, err))
				return
			}
			if !yield(r, nil) {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(numbered{}, explain(db.path, err))
			return
		}
		for _, r := range held {
			if (tool == "" || r.Trial.Tool == tool) && !yield(numbered{Record: r}, nil) {
				return
			}
		}
	}
}

// begin starts to read, which fixes what is found, and takes what is held at
// that moment: no record is missed or told twice.
func (db *DB) begin(ctx context.Context, query string, args []any) (rows *sql.Rows, held []drills.Record, more bool, err error) {
	db.holding.Lock()
	defer db.holding.Unlock()
	if rows, err = db.pool.QueryContext(ctx, query, args...); err != nil {
		return nil, nil, false, err
	}
	return rows, slices.Clone(db.held), rows.Next(), nil
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
	if plain, ok := parsePlain(text); ok {
		*n = plain
		return nil
	}
	return json.Unmarshal([]byte(text), (*map[string]float64)(n))
}

// parsePlain reads an object of numbers as Value writes it, several times as
// fast as the general way. What it does not take is for that way to judge:
// names with anything but plain letters in them, white space, what is no JSON.
func parsePlain(text string) (n numbers, ok bool) {
	if text == "null" {
		return nil, true
	}
	inner, object := strings.CutPrefix(text, "{")
	inner, closed := strings.CutSuffix(inner, "}")
	if !object || !closed {
		return nil, false
	}
	n = numbers{}
	for inner != "" {
		name, rest, found := strings.Cut(strings.TrimPrefix(inner, `"`), `":`)
		if !found || inner[0] != '"' || !isPlainName(name) {
			return nil, false
		}
		value, after, more := strings.Cut(rest, ",")
		v, err := strconv.ParseFloat(value, 64)
		if err != nil || !isPlainNumber(value) || more && after == "" {
			return nil, false
		}
		n[name], inner = v, after
	}
	return n, true
}

// isPlainName reports whether JSON has a name as it is, without an escape.
func isPlainName(name string) bool {
	for i := range len(name) {
		if c := name[i]; c < ' ' || c > '~' || c == '"' || c == '\\' {
			return false
		}
	}
	return true
}

// isPlainNumber reports whether what ParseFloat takes is a number of JSON too,
// which has neither +1, 01, .5, 1., 1_0, 0x1p4 nor Inf.
func isPlainNumber(text string) bool {
	text = strings.TrimPrefix(text, "-")
	whole := digits(text)
	rest := text[whole:]
	switch {
	case whole == 0 || whole > 1 && text[0] == '0' || strings.Contains(rest, "_"):
		return false
	case rest == "" || rest[0] == 'e' || rest[0] == 'E':
		return true
	}
	return rest[0] == '.' && digits(rest[1:]) > 0
}

// digits is how many a text begins with.
func digits(text string) (n int) {
	for n < len(text) && text[n] >= '0' && text[n] <= '9' {
		n++
	}
	return n
}

func wantType(ok bool, v any) error {
	if !ok {
		return fmt.Errorf("a column holds %T", v)
	}
	return nil
}
