package pitch

import (
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

func BenchmarkShift(b *testing.B) {
	p, err := Shift.New(48000, dsp.Setting{"cents": 20})
	if err != nil {
		b.Fatal(err)
	}
	music, buf := dsptest.Music(48000, 1, 8*48000), make([]dsp.Frame, 8*48000)
	for b.Loop() {
		copy(buf, music)
		p.Process(buf)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(buf)), "ns/frame")
}
