//go:build linux

package windowtest

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// BenchmarkWindow is a short sitting, measured: from the start to the first
// frame on the screen, from the key to the first sound, the frames a second
// while a curve moves, and what an idle window costs. A frame is drawn without
// a graphics card here.
func BenchmarkWindow(b *testing.B) {
	screen, binary := newDisplay(b), build(b)
	home, data := b.TempDir(), b.TempDir()
	writeSong(b, home, "night bus.wav")
	_, card := newCard(b)
	env := append(environment(b, screen, home, data), card...)
	for b.Loop() {
		p := start(b, binary, env, "--drill", "eq-band", "--seed", "42", "--trials", "4", "--times", "--material", home+"/night bus.wav")
		<-p.first
		if _, title := screen.await("How loud", "Ready", "answered today"); strings.Contains(title, "How loud") {
			screen.press("Return")
		}
		awaitMaterial(b, data, "night bus.wav")
		b.ReportMetric(idle(p), "idle-%")
		screen.press("Return")
		for range 4 {
			screen.await("Which band was")
			screen.press("2", "Return")
			screen.await("Right. ", "Wrong. ")
			time.Sleep(1200 * time.Millisecond)
			screen.press("Return")
		}
		screen.await("of 4 trials right")
		screen.press("ctrl+q")
		report(b, p.wait())
	}
}

// report is what the window said of itself, as metrics.
func report(b *testing.B, said string) {
	b.Helper()
	for prefix, unit := range map[string]string{
		"start to first frame": "start-ms", "key to first sound": "sound-ms", "while a curve moves": "frames/s",
	} {
		_, rest, ok := strings.Cut(said, prefix+": ")
		var v float64
		if _, err := fmt.Sscan(rest, &v); !ok || err != nil {
			b.Errorf("the window did not say %s: %s", prefix, said)
		}
		b.ReportMetric(v, unit)
	}
}
