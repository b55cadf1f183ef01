package cli

import (
	"net"
	"os"
	"runtime"
	"strings"
)

// hasDisplay reports whether a window can be opened: on Linux and its
// relatives, whether an X server answers where DISPLAY says, which desktops on
// Wayland set too.
func hasDisplay() bool {
	switch runtime.GOOS {
	case "windows", "darwin":
		return true
	}
	return answers(os.Getenv("DISPLAY"))
}

// answers reports whether an X server can be reached. A display is HOST:N.S.
// Source: X(7), "Display names".
func answers(display string) bool {
	host, number, ok := strings.Cut(display, ":")
	number, _, _ = strings.Cut(number, ".")
	if !ok || number == "" {
		return false
	}
	if host != "" && host != "unix" {
		return true // on another machine: asking it could take long
	}
	for _, socket := range []string{"/tmp/.X11-unix/X" + number, "@/tmp/.X11-unix/X" + number} {
		if c, err := net.Dial("unix", socket); err == nil {
			c.Close() // it was only asked whether it is there
			return true
		}
	}
	return false
}
