package fault_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"testing"

	"strop/content/mp3"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/fault"
	"strop/dsp/measure"
)

// through is the material with a fault, its latency taken out.
func (m material) through(t *testing.T, spec dsp.Spec, set dsp.Setting) []dsp.Frame {
	t.Helper()
	p, err := spec.New(m.rateHz, set)
	if err != nil {
		t.Fatal(err)
	}
	late := dsp.DelayFrames(p)
	buf := append(append([]dsp.Frame(nil), m.frames...), make([]dsp.Frame, late)...)
	p.Process(buf)
	return buf[late:]
}

// On every material the band limit is where it was set, and there is none on
// the untouched side.
func TestBandLimitIsFound(t *testing.T) {
	for _, m := range materials(t) {
		if got := measure.BandEdgeHz(m.frames, m.rateHz); got != 0 {
			t.Errorf("%s, untouched: an edge at %.0f Hz", m.name, got)
		}
		for _, bandHz := range []float64{5000, 8000, 12000, 16000} {
			got := measure.BandEdgeHz(m.through(t, fault.Codec, dsp.Setting{"bandHz": bandHz}), m.rateHz)
			near(t, fmt.Sprintf("%s, %g Hz", m.name, bandHz), got, bandHz, 0.02*bandHz)
		}
	}
}

// On every material noise and holes grow as bits are taken away, and neither
// is there on the untouched side.
func TestCodecIsFound(t *testing.T) {
	for _, m := range materials(t) {
		clean := measure.CodingOf(m.frames, m.through(t, fault.Codec, dsp.Setting{}), m.rateHz)
		if !math.IsInf(clean.NoiseDB, -1) || clean.HolesPct != 0 {
			t.Errorf("%s, untouched: %.1f dB of noise, %.2f %% holes", m.name, clean.NoiseDB, clean.HolesPct)
		}
		last := measure.Coding{NoiseDB: math.Inf(1), HolesPct: 101, PreEchoDB: math.Inf(1)}
		for _, kbit := range []float64{48, 64, 128, 256, 400} {
			c := measure.CodingOf(m.frames, m.through(t, fault.Codec, dsp.Setting{"rateKBitS": kbit}), m.rateHz)
			what := fmt.Sprintf("%s at %g kbit/s: %.1f dB of noise, %.2f %% holes, %.1f dB before attacks", m.name, kbit, c.NoiseDB, c.HolesPct, c.PreEchoDB)
			t.Log(what)
			if c.NoiseDB > last.NoiseDB-0.5 || c.HolesPct > last.HolesPct || c.PreEchoDB > last.PreEchoDB-0.5 {
				t.Errorf("%s; more bits must give less of all", what)
			}
			last = c
		}
	}
}

// A bit more for each of the numbers halves the step: 6.02 dB less noise
// (Jayant & Noll 1984). White noise has no number that takes no bits.
func TestCodecNoiseByBits(t *testing.T) {
	m := material{"white noise", 48000, dsptest.Noise(1, 0.1, 4*48000)}
	noise := func(kbit float64) float64 {
		coded := m.through(t, fault.Codec, dsp.Setting{"rateKBitS": kbit, "joint": 0})
		return measure.CodingOf(m.frames, coded, m.rateHz).NoiseDB
	}
	// 96 kbit/s more are one bit a sample: two channels at 48 kHz.
	near(t, "a bit a sample", noise(300)-noise(396), 6.02, 0.3)
	// At R bits a number the noise of a Gaussian one is 2^−2R·πe/6 of it. The
	// power of four neighbours is 1.2 dB too low, in the mean of its logarithm.
	near(t, "4.125 bits a sample", noise(396), -6.02*4.125+dsp.PowerToDB(math.Pi*math.E/6)-1.2, 0.8)
}

// A click in silence: its noise is spread over the whole block, so that it
// begins before the click, 40 ms at most.
func TestCodecPreEcho(t *testing.T) {
	click := make([]dsp.Frame, 24000)
	copy(click[12000:], dsptest.Noise(3, 0.3, 240))
	m := material{"click", 48000, click}
	coded := m.through(t, fault.Codec, dsp.Setting{"rateKBitS": 64})
	before := measure.RMSDBFS(coded[12000-480:12000]) - measure.RMSDBFS(click[12000:12240])
	if !(before > -40 && before < -5) {
		t.Errorf("10 ms before the click: %.1f dB of it", before)
	}
	if far := measure.RMSDBFS(coded[:12000-2048]); !math.IsInf(far, -1) {
		t.Errorf("more than a block before the click: %.1f dBFS", far)
	}
	fine := m.through(t, fault.Codec, dsp.Setting{"rateKBitS": 400})
	if less := measure.RMSDBFS(fine[12000-480 : 12000]); !(less < measure.RMSDBFS(coded[12000-480:12000])-20) {
		t.Errorf("at 400 kbit/s still %.1f dBFS", less)
	}
}

// What is the same in both channels stays so, and takes half the bits.
func TestCodecJointStereo(t *testing.T) {
	mono := dsptest.Music(48000, 1, 4*48000)
	for i := range mono {
		mono[i][1] = mono[i][0]
	}
	m := material{"mono", 48000, mono}
	joint := m.through(t, fault.Codec, dsp.Setting{"rateKBitS": 96})
	apart := m.through(t, fault.Codec, dsp.Setting{"rateKBitS": 96, "joint": 0})
	for i, f := range joint {
		if math.Abs(f[0]-f[1]) > 1e-12 {
			t.Fatalf("frame %d: %v", i, f)
		}
	}
	a, b := measure.CodingOf(mono, joint, 48000).NoiseDB, measure.CodingOf(mono, apart, 48000).NoiseDB
	if !(a < b-5) {
		t.Errorf("noise %.1f dB joint, %.1f dB apart", a, b)
	}
}

// Real codecs, from outside: a real recording that was delivered as MP3, cut off
// at 10 kHz as its spectrogram shows, and the test music through lame, which is
// told its band limit and keeps it by the bands of its filter bank, 689 Hz wide.
func TestBandLimitOfRealCodecs(t *testing.T) {
	speech := recording(t, "mpeg2.mp3", 36)
	near(t, "mpeg2.mp3", measure.BandEdgeHz(speech.frames, speech.rateHz), 10000, 250)
	music := dsptest.Music(44100, 1, 8*44100)
	raw := make([]byte, 0, 4*len(music))
	for _, f := range music {
		for _, x := range f {
			raw = binary.LittleEndian.AppendUint16(raw, uint16(int16(math.Round(x*32767))))
		}
	}
	for _, bandHz := range []float64{8000, 12000, 16000} {
		coded := pcmtest.Run(t, raw, "lame", "--quiet", "-r", "-s", "44.1", "--resample", "44.1", "-b", "192", "--lowpass", fmt.Sprintf("%.1f", bandHz/1000), "--lowpass-width", "0.1", "-", "-")
		src, err := mp3.Open(bytes.NewReader(coded))
		if err != nil {
			t.Fatal(err)
		}
		got := measure.BandEdgeHz(read(src, 0, 7*44100), 44100)
		near(t, fmt.Sprintf("lame, %g Hz", bandHz), got, bandHz, 500)
	}
}
