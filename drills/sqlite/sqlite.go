// Package sqlite keeps records in an SQLite file.
package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/driver"
	"github.com/ncruces/go-sqlite3/vfs/memdb"

	"strop/drills"
)

// DB is the history of one listener. It may be used by several goroutines,
// and the same file by several processes.
type DB struct {
	path    string
	damaged string
	pool    *sql.DB
	insert  *sql.Stmt

	copied     string // name in memory of a copy that stands for the file; "": it is the file
	unwritable error  // why it is a copy
	holding    sync.Mutex
	held       []drills.Record // not on the disk
}

var _ drills.Store = (*DB)(nil)

// Open opens the history at path, or begins one there, with the folder above
// it where that is missing.
//
// A file that SQLite finds damaged is renamed and a new history begun; Damaged
// tells. A history written by a newer program, and an SQLite file that is no
// history, are left as they are: ErrNewer, ErrForeign. The check for damage
// reads the file once, about 0.1 s for 100 000 records.
func Open(path string) (*DB, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, explain(path, err)
	}
	seen, _ := os.Stat(path)
	db, err := open(path)
	if !isDamage(err) {
		return db, explain(path, err)
	}
	aside, err := setAside(path, seen)
	if err != nil {
		return nil, explain(path, err)
	}
	if db, err = open(path); err != nil {
		return nil, explain(path, err)
	}
	db.damaged = aside
	return db, nil
}

func open(path string) (_ *DB, err error) {
	pool, err := driver.Open(path, configure)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			pool.Close()
		}
	}()
	ctx := context.Background()
	if err := migrate(ctx, pool); err != nil {
		return nil, err
	}
	insert, err := pool.PrepareContext(ctx, insertRecord)
	if err != nil {
		return nil, err
	}
	return &DB{path: path, pool: pool, insert: insert}, nil
}

// busyTimeout is how long a writer waits for another process.
const busyTimeout = 10 * time.Second

// configure makes a commit survive a power cut: the write-ahead log reaches
// the disk before it returns. Source: SQLite, PRAGMA synchronous.
func configure(c *sqlite3.Conn) error {
	if err := c.BusyTimeout(busyTimeout); err != nil {
		return err
	}
	return c.Exec(`PRAGMA synchronous = FULL`)
}

// Damaged is the path under which a damaged history was set aside when this
// one was opened, "" where there was none.
func (db *DB) Damaged() string { return db.damaged }

// Close tries once more to keep what is held, and releases the file. Its error
// is a *HeldError where records were held, which are lost unless they were
// saved.
func (db *DB) Close() error {
	db.holding.Lock()
	defer db.holding.Unlock()
	err := db.flush(context.Background())
	if len(db.held) == 0 {
		err = nil
	}
	closed := db.pool.Close()
	if db.copied != "" {
		memdb.Delete(db.copied)
	}
	return cmp.Or(err, explain(db.path, closed))
}

// Version is that of SQLite.
func Version() string {
	db, err := driver.Open(":memory:")
	if err != nil {
		return "unknown"
	}
	defer db.Close()
	version := "unknown"
	_ = db.QueryRow(`SELECT sqlite_version()`).Scan(&version) // it stays unknown
	return version
}
