package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
)

var (
	// ErrNewer is a history that a newer strop has written.
	ErrNewer = errors.New("a newer strop has written this history; update strop to read it")
	// ErrForeign is an SQLite file that holds something else.
	ErrForeign = errors.New("this is an SQLite file, but no history of strop")
)

// The steps of the schema, in the order of their names. The n-th brings a
// history from version n−1 to n; one that has been released never changes.
//
//go:embed migrations/*.sql
var steps embed.FS

// applicationID marks the file as ours: PRAGMA application_id.
const applicationID = 0x7374726f

// migrate checks the file and brings it to this program's version, one
// transaction for each step.
func migrate(ctx context.Context, pool *sql.DB) error {
	names, err := fs.Glob(steps, "migrations/*.sql") // in order
	if err != nil {
		return err
	}
	version, err := recognise(ctx, pool, len(names))
	if err != nil {
		return err
	}
	if err := check(ctx, pool); err != nil {
		return err
	}
	if _, err := pool.ExecContext(ctx, `PRAGMA journal_mode = WAL`); err != nil {
		return err
	}
	for ; version < len(names); version++ {
		if err := step(ctx, pool, version, names[version]); err != nil {
			return err
		}
	}
	return nil
}

// recognise reads the version without writing anything. It looks at one
// moment of the file, which another process may be beginning.
func recognise(ctx context.Context, pool *sql.DB, known int) (version int, err error) {
	tx, err := pool.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return 0, err
	}
	defer tx.Rollback()
	var id, tables int
	for query, into := range map[string]*int{
		`PRAGMA user_version`:                &version,
		`PRAGMA application_id`:              &id,
		`SELECT count(*) FROM sqlite_schema`: &tables,
	} {
		if err := tx.QueryRowContext(ctx, query).Scan(into); err != nil {
			return 0, err
		}
	}
	switch {
	case id != applicationID && (version > 0 || tables > 0):
		return 0, ErrForeign
	case version > known:
		return 0, fmt.Errorf("%w (its version is %d, this program knows %d)", ErrNewer, version, known)
	}
	return version, nil
}

// check reads the whole file for damage.
func check(ctx context.Context, pool *sql.DB) error {
	var found string
	if err := pool.QueryRowContext(ctx, `PRAGMA quick_check(1)`).Scan(&found); err != nil {
		return err
	}
	if found != "ok" {
		return fmt.Errorf("%w: %s", errDamage, found)
	}
	return nil
}

// step takes one step unless another process has taken it meanwhile.
func step(ctx context.Context, pool *sql.DB, from int, name string) error {
	script, err := steps.ReadFile(name)
	if err != nil {
		return err
	}
	tx, err := pool.BeginTx(ctx, nil) // immediate: waits for other writers
	if err != nil {
		return err
	}
	defer tx.Rollback()
	var version int
	if err := tx.QueryRowContext(ctx, `PRAGMA user_version`).Scan(&version); err != nil || version > from {
		return err
	}
	if _, err := tx.ExecContext(ctx, string(script)); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf(`PRAGMA user_version = %d`, from+1)); err != nil {
		return err
	}
	return tx.Commit()
}
