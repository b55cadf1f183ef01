//go:build linux

package windowtest

import (
	"bufio"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// display is an X server of its own, without a screen.
type display struct {
	t    testing.TB
	name string
}

// newDisplay starts Xvfb on a display that is free.
func newDisplay(t testing.TB) *display {
	t.Helper()
	for program, of := range map[string]string{"Xvfb": "xvfb", "xdotool": "xdotool"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Skipf("needs %s, of the Debian package %s", program, of)
		}
	}
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	x := exec.Command("Xvfb", "-displayfd", "3", "-screen", "0", "1400x900x24", "-noreset", "-nolisten", "tcp")
	x.ExtraFiles = []*os.File{w}
	if err := x.Start(); err != nil {
		t.Fatal(err)
	}
	w.Close()
	t.Cleanup(func() { _, _ = x.Process.Kill(), x.Wait() })
	number, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		t.Fatalf("Xvfb did not say its display: %v", err)
	}
	return &display{t, ":" + strings.TrimSpace(number)}
}

// xdo runs xdotool.
func (d *display) xdo(args ...string) string {
	d.t.Helper()
	cmd := exec.Command("xdotool", args...)
	cmd.Env = append(os.Environ(), "DISPLAY="+d.name)
	out, err := cmd.Output()
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(out))
}

// press holds a key as long as a finger does.
func (d *display) press(keys ...string) {
	d.t.Helper()
	for _, k := range keys {
		d.xdo("keydown", k)
		time.Sleep(60 * time.Millisecond)
		d.xdo("keyup", k)
		time.Sleep(60 * time.Millisecond)
	}
}

// click presses the mouse at a place of the window.
func (d *display) click(window string, at image.Point) {
	d.xdo("mousemove", "--window", window, fmt.Sprint(at.X), fmt.Sprint(at.Y))
	time.Sleep(60 * time.Millisecond)
	d.xdo("mousedown", "1")
	time.Sleep(60 * time.Millisecond)
	d.xdo("mouseup", "1")
	time.Sleep(60 * time.Millisecond)
}

// title is that of strop's window, "" where there is none.
func (d *display) title() (window, title string) {
	window = d.xdo("search", "--class", "strop")
	if lines := strings.Fields(window); len(lines) > 0 {
		window = lines[len(lines)-1]
		return window, d.xdo("getwindowname", window)
	}
	return "", ""
}

// await waits until the title of the window says one of some texts, and is the
// window and its title.
func (d *display) await(texts ...string) (window, title string) {
	d.t.Helper()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		window, title = d.title()
		for _, text := range texts {
			if strings.Contains(title, text) {
				return window, title
			}
		}
	}
	d.picture("timeout.png")
	d.t.Fatalf("waited for %q; the window says %q", texts, title)
	return "", ""
}

// picture keeps what the display shows, where ImageMagick is there and a
// folder for it was named.
func (d *display) picture(name string) {
	if dir := os.Getenv("STROP_TEST_PICTURES"); dir != "" {
		_ = exec.Command("import", "-display", d.name, "-window", "root", filepath.Join(dir, name)).Run()
	}
}
