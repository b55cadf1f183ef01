package sqlite_test

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"

	"strop/drills/sqlite"
)

func TestReadOnlyFolder(t *testing.T) {
	dir := t.TempDir()
	must(t, os.Chmod(dir, 0o555))
	defer os.Chmod(dir, 0o755)
	must(t, os.Chmod(filepath.Dir(dir), 0o755))
	defer asNobody()()
	for _, path := range []string{"history.db", "new/history.db"} {
		_, err := sqlite.Open(filepath.Join(dir, path))
		if err == nil || !strings.Contains(err.Error(), "cannot be written") {
			t.Fatalf("%s: %v", path, err)
		}
		oneSentence(t, err)
	}
}

// asNobody takes from this thread the right of root to write anywhere, and
// returns what gives it back. For any other user it does nothing.
func asNobody() (restore func()) {
	if os.Getuid() != 0 {
		return func() {}
	}
	runtime.LockOSThread()
	const nobody = 65534
	syscall.RawSyscall(syscall.SYS_SETFSUID, nobody, 0, 0)
	return func() {
		syscall.RawSyscall(syscall.SYS_SETFSUID, 0, 0, 0)
		runtime.UnlockOSThread()
	}
}

// A folder that cannot be written: the history is read, with what stands in
// the log of a sitting that was cut off, and practice goes on in memory.
func TestPractiseInReadOnlyFolder(t *testing.T) {
	for _, cutOff := range []bool{false, true} {
		dir := t.TempDir()
		path := filepath.Join(dir, "history.db")
		db := open(t, path)
		for i := range 4 {
			appendAll(t, db, record(i))
		}
		if cutOff { // the log as it is while the program runs
			file, log := read(t, path), read(t, path+"-wal")
			must(t, db.Close())
			write(t, path, file)
			write(t, path+"-wal", log)
		} else {
			must(t, db.Close())
		}
		for _, name := range []string{path, path + "-wal"} {
			_ = os.Chmod(name, 0o444) // there may be no log
		}
		must(t, os.Chmod(dir, 0o555))
		must(t, os.Chmod(filepath.Dir(dir), 0o755))
		elsewhere := t.TempDir()
		must(t, os.Chmod(elsewhere, 0o777))
		func() {
			defer asNobody()()
			checkCopy(t, openAnyway(t, path), 4, elsewhere)
		}()
		must(t, os.Chmod(dir, 0o755))
	}
}

// smallDisk is a disk of its own, in memory.
func smallDisk(t *testing.T, options string) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, options); err != nil {
		t.Skipf("a small disk cannot be mounted here (it takes root): %v", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(dir, syscall.MNT_DETACH) })
	return dir
}
