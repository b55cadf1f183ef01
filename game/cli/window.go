package cli

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
)

// windowProgram is the name of the program with the window, which lies beside
// strop. It is one of its own because its library ends where there is no
// display.
const windowProgram = "strop-window"

// openWindow runs the window where there is a display and the program for it,
// and reports whether it did. Without arguments strop is the window, or else
// practice in the terminal.
func openWindow(env Env) (ran bool, err error) {
	if !env.Display {
		return false, nil
	}
	if env.Window == "" {
		fmt.Fprintf(env.Stderr, "strop: %s is not beside strop (./start builds it); this is the practice in the terminal.\n", windowProgram)
		return false, nil
	}
	cmd := exec.Command(env.Window)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = env.Stdin, env.Stdout, env.Stderr
	if err := cmd.Run(); err != nil && !errors.As(err, new(*exec.ExitError)) {
		return true, fmt.Errorf("%s cannot be started: %w", env.Window, cause(err))
	} else if err != nil {
		return true, errWindow
	}
	return true, nil
}

// errWindow is returned after the window has said itself what was wrong.
var errWindow = errors.New("the window ended early; strop text practises in the terminal")

// siblingWindow is where the program with the window lies, "" where it does
// not.
func siblingWindow() string {
	self, err := os.Executable()
	if err != nil {
		return ""
	}
	if self, err = filepath.EvalSymlinks(self); err != nil {
		return ""
	}
	path := filepath.Join(filepath.Dir(self), windowProgram)
	if runtime.GOOS == "windows" {
		path += ".exe"
	}
	if _, err := os.Stat(path); err != nil {
		return ""
	}
	return path
}
