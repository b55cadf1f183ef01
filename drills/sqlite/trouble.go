package sqlite

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"github.com/ncruces/go-sqlite3"
)

// errDamage is what a check of the file found, where SQLite itself gives none.
var errDamage = errors.New("the file is damaged")

func isDamage(err error) bool {
	return isAny(err, errDamage, sqlite3.CORRUPT, sqlite3.NOTADB)
}

func isAny(err error, targets ...error) bool {
	for _, t := range targets {
		if errors.Is(err, t) {
			return true
		}
	}
	return false
}

// explain says in one sentence what is wrong with the history at path, and
// what to do. It returns nil for nil.
func explain(path string, err error) error {
	switch {
	case err == nil:
		return nil
	case isAny(err, sqlite3.FULL, syscall.ENOSPC):
		return fmt.Errorf("the disk is full; make room for %s (%w)", path, err)
	case isAny(err, sqlite3.READONLY, sqlite3.CANTOPEN, sqlite3.PERM, fs.ErrPermission, syscall.EROFS, syscall.ENOTDIR):
		return fmt.Errorf("the history %s cannot be written; check its folder and who may write there (%w)", path, err)
	case isAny(err, sqlite3.IOERR):
		return fmt.Errorf("the disk does not take the history %s; it may be full or failing; make room and try again (%w)", path, err)
	case isAny(err, sqlite3.BUSY, sqlite3.LOCKED):
		return fmt.Errorf("another program holds the history %s; close it and try again (%w)", path, err)
	case isDamage(err):
		return fmt.Errorf("the history %s is damaged; start again and it is set aside (%w)", path, err)
	}
	return fmt.Errorf("history %s: %w", path, err)
}

// setAside renames the damaged file and its log, with the date on which it
// was last written, to a name not taken: history.db becomes
// history-damaged-20261125T081500Z.db. Where path is no longer the file that
// was seen, another process has set it aside already, and it returns "".
func setAside(path string, seen os.FileInfo) (string, error) {
	now, err := os.Stat(path)
	if err != nil || !os.SameFile(seen, now) {
		return "", nil
	}
	ext := filepath.Ext(path)
	base := strings.TrimSuffix(path, ext) + "-damaged-" + now.ModTime().UTC().Format("20060102T150405Z")
	aside := base + ext
	for n := 2; taken(aside); n++ {
		aside = fmt.Sprintf("%s-%d%s", base, n, ext)
	}
	for _, part := range []string{"-wal", "-shm", ""} {
		if err := os.Rename(path+part, aside+part); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", err
		}
	}
	return aside, nil
}

func taken(path string) bool {
	_, err := os.Lstat(path)
	return !errors.Is(err, fs.ErrNotExist)
}
