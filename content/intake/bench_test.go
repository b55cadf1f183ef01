package intake_test

import (
	"fmt"
	"runtime"
	"testing"

	"strop/content"
	"strop/content/intake"
)

// BenchmarkCheck looks over eight stems of two minutes: how many seconds of a
// stem in a second, on all processors, and what memory the program has taken
// from the system in the end.
func BenchmarkCheck(b *testing.B) {
	const stems, seconds = 8, 120
	dir := b.TempDir()
	for i := range stems {
		writeStem(b, dir, fmt.Sprintf("Gtr take %c.wav", 'a'+i), pulses(seconds, uint64(i)), mono24())
	}
	runtime.GC()
	for b.Loop() {
		m, err := content.OpenMultitrack(b.Context(), dir, nil)
		must(b, err)
		_, err = intake.Check(b.Context(), m, nil)
		must(b, err)
		must(b, m.Close())
	}
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	b.ReportMetric(stems*seconds*float64(b.N)/b.Elapsed().Seconds(), "stem-s/s")
	b.ReportMetric(float64(mem.Sys)/(1<<20), "MiB")
	b.ReportMetric(0, "ns/op")
}
