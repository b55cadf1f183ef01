package rack_test

import (
	"strconv"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/rack"
)

// session is a mix as one trial may have it at the most: stems with an
// equaliser of four bands and a compressor each, summed, a reverb and a
// limiter.
type session struct {
	stems [15]dsp.Processor
	mix   dsp.Processor
	work  []dsp.Frame
}

func newSession(tb testing.TB, block int) *session {
	build := func(changes ...dsp.Change) dsp.Processor {
		chain, err := rack.Build(48000, changes...)
		if err != nil {
			tb.Fatal(err)
		}
		return chain
	}
	s := &session{work: make([]dsp.Frame, block)}
	for i := range s.stems {
		s.stems[i] = build(
			dsp.Change{Processor: "lowcut", Setting: dsp.Setting{"freqHz": 60}},
			dsp.Change{Processor: "peak", Setting: dsp.Setting{"freqHz": 300, "gainDB": -3}},
			dsp.Change{Processor: "peak", Setting: dsp.Setting{"freqHz": 2500, "gainDB": 2.5, "q": 1.4}},
			dsp.Change{Processor: "highshelf", Setting: dsp.Setting{"freqHz": 8000, "gainDB": 3}},
			dsp.Change{Processor: "compressor", Setting: dsp.Setting{"thresholdDB": -30, "ratio": 4}},
		)
	}
	s.mix = build(
		dsp.Change{Processor: "hall", Setting: dsp.Setting{"decayS": 2, "drrDB": 6}},
		dsp.Change{Processor: "limiter", Setting: dsp.Setting{"ceilingDBTP": -1}},
	)
	return s
}

// process mixes a block of the stems, which start at frame at, into out.
func (s *session) process(out []dsp.Frame, stems [][]dsp.Frame, at int) {
	clear(out)
	for i, p := range s.stems {
		copy(s.work, stems[i][at:])
		p.Process(s.work)
		for k, f := range s.work {
			out[k][0] += f[0] / 4
			out[k][1] += f[1] / 4
		}
	}
	s.mix.Process(out)
}

// BenchmarkHeaviestTrial is 15 stems in blocks of 64 frames, as they are
// played, and of 512, as they are rendered. It reports how much of one core
// that takes in real time, and how many times faster than real time it is.
func BenchmarkHeaviestTrial(b *testing.B) {
	stems := make([][]dsp.Frame, 15)
	for i := range stems {
		stems[i] = dsptest.Music(48000, uint64(i), 1<<16)
	}
	for _, block := range []int{64, 512} {
		b.Run(strconv.Itoa(block), func(b *testing.B) {
			s, out, at := newSession(b, block), make([]dsp.Frame, block), 0
			b.ReportAllocs()
			for b.Loop() {
				s.process(out, stems, at)
				at = (at + block) % len(stems[0])
			}
			ns := float64(b.Elapsed().Nanoseconds()) / float64(b.N) / float64(block)
			b.ReportMetric(ns, "ns/frame")
			b.ReportMetric(100*ns*48000/1e9, "%core")
			b.ReportMetric(1e9/48000/ns, "x-real-time")
		})
	}
}
