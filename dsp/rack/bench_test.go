package rack_test

import (
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/rack"
)

// run reports the time of p per stereo frame at 48 kHz, on music in blocks of
// 512; copying the block into place is part of it.
func run(b *testing.B, p dsp.Processor) {
	b.Helper()
	const block = 512
	music, buf, at := dsptest.Music(48000, 1, 128*block), make([]dsp.Frame, block), 0
	b.ReportAllocs()
	for b.Loop() {
		copy(buf, music[at:])
		p.Process(buf)
		at = (at + block) % len(music)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/block, "ns/frame")
}

// BenchmarkProcessor runs each with its parameters at six tenths of their
// ranges, where it has work to do.
func BenchmarkProcessor(b *testing.B) {
	for _, s := range rack.All() {
		set := dsp.Setting{}
		for _, p := range s.Params {
			set[p.ID] = p.At(0.6)
		}
		p, err := s.New(48000, set)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(s.ID, func(b *testing.B) { run(b, p) })
	}
}

// BenchmarkTenPeaks is an equaliser of ten bands.
func BenchmarkTenPeaks(b *testing.B) {
	var changes []dsp.Change
	for i := range 10 {
		changes = append(changes, dsp.Change{Processor: "peak", Setting: dsp.Setting{"freqHz": dsp.ThirdOctaveHz(3 * i), "gainDB": 3}})
	}
	chain, err := rack.Build(48000, changes...)
	if err != nil {
		b.Fatal(err)
	}
	run(b, chain)
}

// BenchmarkLimiterAtRest is the limiter on music that stays under its ceiling.
func BenchmarkLimiterAtRest(b *testing.B) {
	chain, err := rack.Build(48000, dsp.Change{Processor: "limiter"})
	if err != nil {
		b.Fatal(err)
	}
	run(b, chain)
}
