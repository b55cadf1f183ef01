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
