package content_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"strop/content"
	"strop/content/wav"
	"strop/dsp"
)

// trackNames are the stems of a big session, repeated with a number.
var trackNames = strings.Fields("Kick_In Kick_Out Snare_Top Snare_Btm HiHat Tom_1 Tom_2 OH_L OH_R Room Bass_DI Bass_Amp EGtr_L EGtr_R AcGtr Piano_L Piano_R Pad Strings LeadVox BGV_1 BGV_2 Shaker FX")

// bigFolder makes a folder of stems of seconds each, every fifth in stereo, 24
// bits at 48 kHz. They are twelve files under many names: what is measured is
// how they are read and mixed, not the disk.
func bigFolder(tb testing.TB, stems int, seconds int) string {
	tb.Helper()
	dir, bank := tb.TempDir(), tb.TempDir()
	for i := range stems {
		name := fmt.Sprintf("%03d Group%d %s.wav", i+1, i/len(trackNames), trackNames[i%len(trackNames)])
		source := filepath.Join(bank, fmt.Sprint(i%12))
		if i < 12 {
			writeStrokes(tb, source, uint64(i), seconds, 1+(i+1)%5/4)
		}
		if err := os.Link(source, filepath.Join(dir, name)); err != nil {
			tb.Fatal(err)
		}
	}
	return dir
}

// writeStrokes writes strokes of decaying noise, some beats apart, to a file.
func writeStrokes(tb testing.TB, path string, seed uint64, seconds, channels int) {
	tb.Helper()
	file, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	w, err := wav.NewWriter(file, wav.WriteFormat{RateHz: 48000, Channels: channels, Sample: wav.Int24, NoDither: true})
	if err != nil {
		tb.Fatal(err)
	}
	r := rand.New(rand.NewPCG(seed, 1))
	buf, level, step := make([]dsp.Frame, 12000), 0.0, int(1+seed%4)
	for i := range 4 * seconds {
		if i%step == 0 && r.IntN(8) > 0 {
			level = 0.3
		}
		for j := range buf {
			v := math.Round(level*(r.Float64()-0.5)*(1<<23)) / (1 << 23)
			buf[j] = dsp.Frame{v, v}
			level *= 0.9998
		}
		if err := w.Write(buf); err != nil {
			tb.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
}

// From a folder of 150 stems of 4 minutes to the first loop, to the first loop
// with every stem measured, and to the whole mix; and what memory that takes.
// The aim is 2 s to the first loop and 1.5 GB.
func BenchmarkFolderOf150(b *testing.B) {
	dir := bigFolder(b, 150, 240)
	resetPeak()
	var loop, clip, mix time.Duration
	for b.Loop() {
		start := time.Now()
		m, err := content.OpenMultitrack(b.Context(), dir, nil)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := m.Loops().Clip(b.Context(), 0); err != nil {
			b.Fatal(err)
		}
		loop += time.Since(start)
		if _, err := m.Clip(b.Context(), 0); err != nil {
			b.Fatal(err)
		}
		clip += time.Since(start)
		if err := m.Mix().Wait(b.Context()); err != nil {
			b.Fatal(err)
		}
		if err := m.Mix().Err(); err != nil {
			b.Fatal(err)
		}
		mix += time.Since(start)
		if err := m.Close(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(loop.Seconds()/float64(b.N), "first-sound-s")
	b.ReportMetric(clip.Seconds()/float64(b.N), "stems-measured-s")
	b.ReportMetric(mix.Seconds()/float64(b.N), "whole-mix-s")
	b.ReportMetric(peakMB(b), "peak-MB")
}

// resetPeak sets the mark of the most memory used back; Linux only.
func resetPeak() { _ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) } // elsewhere peakMB tells

// peakMB is the most memory that was resident since.
func peakMB(tb testing.TB) float64 {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		tb.Log("peak memory is not measured: there is no /proc/self/status")
		return math.NaN()
	}
	for line := range strings.Lines(string(status)) {
		var kB float64
		if n, _ := fmt.Sscanf(line, "VmHWM: %f kB", &kB); n == 1 {
			return kB / 1000
		}
	}
	return math.NaN()
}
