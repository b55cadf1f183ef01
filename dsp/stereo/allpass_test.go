package stereo_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"os/exec"
	"strings"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/stereo"
)

// Coefficients of the cookbook's all-pass for 1 kHz, Q 1/√2, computed
// independently: 0.831005589347, −1.815341082705, 1 over the same, last first.
func TestAllPassImpulse(t *testing.T) {
	buf := dsptest.Impulse(8, 0)
	build(t, stereo.AllPass, 48000, dsp.Setting{"freqHz": 1000, "q": 1 / math.Sqrt2, "stages": 1}).Process(buf)
	const b0, b1, b2 = 0.831005589347, -1.815341082705, 1
	var y [8]float64
	for n := range y {
		y[n] = [8]float64{b0, b1, b2}[n] - b1*at(y[:], n-1) - b0*at(y[:], n-2)
		near(t, fmt.Sprintf("frame %d", n), buf[n][0], y[n], 1e-10)
	}
}

func at(y []float64, n int) float64 {
	if n < 0 {
		return 0
	}
	return y[n]
}

// Group delay at 1 kHz in samples of 48 kHz, computed independently from the
// cookbook's formulae; low down it is the analogue 4Q/ω0.
func TestAllPassGroupDelay(t *testing.T) {
	delay := func(freqHz, q float64) float64 {
		set := dsp.Setting{"freqHz": freqHz, "q": q, "stages": 1}
		step := freqHz * 1e-4
		turn := stereo.AllPass.Response(48000, freqHz-step, set) / stereo.AllPass.Response(48000, freqHz+step, set)
		return cmplx.Phase(turn) / (2 * math.Pi * 2 * step / 48000)
	}
	for q, want := range map[float64]float64{0.5: 15.3226, 1 / math.Sqrt2: 21.6694, 1: 30.6452, 2: 61.2904, 5: 153.2260} {
		near(t, fmt.Sprintf("Q %g", q), delay(1000, q), want, 1e-3)
	}
	near(t, "at 50 Hz", delay(50, 2), 48000*4*2/(2*math.Pi*50), 0.05)
}

// Every level is kept and each stage turns by −180° at its frequency, whatever
// the rate.
func TestAllPass(t *testing.T) {
	for _, rateHz := range []float64{44100, 192000} {
		for stages := range 5 {
			set := dsp.Setting{"freqHz": 3000, "q": 3, "stages": float64(stages)}
			for hz := 20.0; hz < rateHz/2; hz *= 1.7 {
				near(t, "level", cmplx.Abs(stereo.AllPass.Response(rateHz, hz, set)), 1, 1e-12)
			}
			want := complex(math.Pow(-1, float64(stages)), 0)
			near(t, "at its frequency", cmplx.Abs(stereo.AllPass.Response(rateHz, 3000, set)-want), 0, 1e-9)
		}
	}
	if _, err := stereo.AllPass.New(32000, dsp.Setting{"freqHz": 15680}); err == nil || !strings.HasSuffix(err.Error(), "stay below 15680 Hz") {
		t.Errorf("15680 Hz at a rate of 32 kHz: %v", err)
	}
}

// ffmpeg has the same filter and the same arithmetic of channels, in 64 bits:
// what differs is rounding. A delay of whole samples is exact.
func TestAgainstFFmpeg(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("not cross-checked: there is no ffmpeg here")
	}
	for filter, p := range map[string]dsp.Processor{
		"allpass=f=300:t=q:w=0.7:r=f64,allpass=f=300:t=q:w=0.7:r=f64": build(t, stereo.AllPass, 48000, dsp.Setting{"freqHz": 300, "q": 0.7, "stages": 2}),
		"pan=stereo|c0=0.75*c0+0.25*c1|c1=0.25*c0+0.75*c1":            build(t, stereo.Width, 48000, dsp.Setting{"widthPct": 50}),
		"pan=stereo|c0=-1*c0|c1=c1":                                   build(t, stereo.Polarity, 48000, dsp.Setting{"left": 1}),
		"adelay=delays=96S|31S":                                       build(t, stereo.Delay, 48000, dsp.Setting{"samples": 65, "right": 0}), // latency: 31
	} {
		ours := dsptest.Noise(4, 0.1, 20000)
		theirs := throughFFmpeg(t, ffmpeg, filter, ours)
		p.Process(ours)
		for i := range ours {
			for side := range 2 {
				if !(math.Abs(ours[i][side]-theirs[i][side]) <= 1e-12) {
					t.Fatalf("%s: frame %d is %v here, %v there", filter, i, ours[i], theirs[i])
				}
			}
		}
	}
}
