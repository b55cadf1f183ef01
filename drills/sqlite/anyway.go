package sqlite

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync/atomic"

	"github.com/ncruces/go-sqlite3/vfs/memdb"
)

// OpenAnyway opens a history as Open does. Where it cannot be written, because
// the folder is read-only, the disk is full or another program holds it, what
// can be read of it is copied into memory, practice goes on there, and Held
// tells why. Only a history of a newer program, and a file that is no history,
// are errors.
func OpenAnyway(path string) (*DB, error) {
	db, err := Open(path)
	if err == nil || errors.Is(err, ErrNewer) || errors.Is(err, ErrForeign) {
		return db, err
	}
	copied, copyErr := openCopy(path)
	if copyErr != nil {
		return nil, err
	}
	copied.unwritable = err
	return copied, nil
}

// copies numbers the copies of this process: their names in memory.
var copies atomic.Int64

// openCopy opens a copy of the history in memory, an empty one where there is
// none that can be read.
func openCopy(path string) (*DB, error) {
	content, err := contentOf(path)
	if err != nil {
		content = nil // practice goes on without what was
	}
	name := fmt.Sprintf("strop-%d", copies.Add(1))
	memdb.Create(name, content)
	db, err := open("file:/" + name + "?vfs=memdb")
	if isDamage(err) {
		memdb.Delete(name)
		memdb.Create(name, nil)
		db, err = open("file:/" + name + "?vfs=memdb")
	}
	if err != nil {
		memdb.Delete(name)
		return nil, err
	}
	db.path, db.copied = path, name
	return db, nil
}

// contentOf is the file with what stands in its log, which only SQLite can
// bring together, and only where it can write.
func contentOf(path string) ([]byte, error) {
	log, err := os.ReadFile(path + "-wal")
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(log) == 0 {
		return os.ReadFile(path)
	}
	content, readErr := os.ReadFile(path)
	if err != nil || readErr != nil {
		return content, readErr
	}
	if whole, err := merged(content, log); err == nil {
		return whole, nil
	}
	return content, nil // without the last answers: there is nowhere to bring them together
}

func merged(content, log []byte) ([]byte, error) {
	dir, err := os.MkdirTemp("", "strop-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "history.db")
	if err := errors.Join(os.WriteFile(path, content, 0o600), os.WriteFile(path+"-wal", log, 0o600)); err != nil {
		return nil, err
	}
	db, err := open(path)
	if err != nil {
		return nil, err
	}
	if err := db.Close(); err != nil { // the last to close writes the log into the file
		return nil, err
	}
	return os.ReadFile(path)
}
