package pitch_test

import (
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/pitch"
)

// loopS is a loop of a drill, in seconds.
const loopS = 8

func report(b *testing.B, n int) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/frame")
}

func benchmark(b *testing.B, spec dsp.Spec, set dsp.Setting, sound []dsp.Frame) {
	p, err := spec.New(48000, set)
	if err != nil {
		b.Fatal(err)
	}
	buf := make([]dsp.Frame, len(sound))
	b.ReportAllocs()
	for b.Loop() {
		copy(buf, sound)
		p.Process(buf)
	}
	report(b, len(buf))
}

// BenchmarkShift shifts a stereo loop of 8 s by 20 cents.
func BenchmarkShift(b *testing.B) {
	pink := make([]dsp.Frame, loopS*48000)
	dsp.NewPink(48000, 1).Fill(pink)
	dsp.Gain(0.1).Process(pink)
	for name, sound := range map[string][]dsp.Frame{"music": dsptest.Music(48000, 1, loopS*48000), "pink": pink} {
		b.Run(name, func(b *testing.B) { benchmark(b, pitch.Shift, dsp.Setting{"cents": 20}, sound) })
	}
}

func BenchmarkVoice(b *testing.B) {
	benchmark(b, pitch.Voice, dsp.Setting{"cents": 20}, buzz(48000, 147, loopS*48000))
}

func BenchmarkTimeShift(b *testing.B) {
	benchmark(b, pitch.TimeShift, dsp.Setting{"shiftMS": 10.01}, dsptest.Music(48000, 1, loopS*48000))
}

func BenchmarkStretch(b *testing.B) {
	music := dsptest.Music(48000, 1, loopS*48000)
	for b.Loop() {
		if _, err := pitch.Stretch(music, 48000, 1.05); err != nil {
			b.Fatal(err)
		}
	}
	report(b, len(music))
}

func BenchmarkVarispeed(b *testing.B) {
	music := dsptest.Music(48000, 1, loopS*48000)
	for b.Loop() {
		if _, err := pitch.Varispeed(music, 1.0116); err != nil {
			b.Fatal(err)
		}
	}
	report(b, len(music))
}
