package demo

import (
	"math"
	"testing"

	"strop/dsp"
)

// decayS is the reverberation time T20 of a response: backward integration and
// a line through −5 to −25 dB (Schroeder 1965; ISO 3382-1:2009).
func decayTimeS(x []float64) float64 {
	sum, rest := 0.0, make([]float64, len(x))
	for i := len(x) - 1; i >= 0; i-- {
		sum += x[i] * x[i]
		rest[i] = sum
	}
	from, to := 0, 0
	for i, v := range rest {
		if level := dsp.PowerToDB(v / sum); level > -25 {
			to = i
			if level > -5 {
				from = i
			}
		}
	}
	return 3 * float64(to-from) / rateHz
}

// A room decays in the time that it is asked for, middle frequencies within
// 15 %; the microphones hear it unrelated to each other; it is dense.
func TestRoomDecays(t *testing.T) {
	for _, decayS := range []float64{0.2, 0.45, 0.9} {
		r := newRoom(decayS)
		n := int(2 * decayS * rateHz)
		responses := newTrack(maxMics, n)
		var out [maxMics]float64
		for i := range n {
			in := 0.0
			if i == 0 {
				in = 1
			}
			r.step(in, &out, maxMics)
			for m, v := range out {
				responses[m][i] = v
			}
		}
		for m, x := range responses {
			if got := decayTimeS(x); got > 1.05*decayS || got < 0.7*decayS {
				t.Errorf("%g s: microphone %d measures %.3f s", decayS, m, got)
			}
			if c := correlation(x, responses[(m+1)%maxMics]); math.Abs(c) > 0.3 {
				t.Errorf("%g s: microphones %d and the next correlate %.2f", decayS, m, c)
			}
		}
		if d := echoDensity(responses[0], int(0.08*rateHz)); d < 0.8 {
			t.Errorf("%g s: echo density %.2f after 80 ms", decayS, d)
		}
	}
}

// echoDensity is the share of frames beyond one standard deviation in 20 ms,
// over that of Gaussian noise, 0.3173: 1 is a dense tail (Abel & Huang, A
// Simple, Robust Measure of Reverberation Echo Density, AES 121st Convention,
// 2006; from memory).
func echoDensity(x []float64, at int) float64 {
	x = x[at : at+960]
	limit, beyond := math.Pow(10, rmsDB(x)/20), 0
	for _, v := range x {
		if math.Abs(v) > limit {
			beyond++
		}
	}
	return float64(beyond) / float64(len(x)) / 0.3173
}

// The same sound with fewer microphones, the direct way.
func TestRoomOfTwoMicrophones(t *testing.T) {
	a, b := newRoom(0.4), newRoom(0.4)
	var x, y [maxMics]float64
	for i := range 10000 {
		in := float64(i%100) - 50
		a.step(in, &x, maxMics)
		b.step(in, &y, 2)
		if math.Abs(x[0]-y[0]) > 1e-9 || math.Abs(x[1]-y[1]) > 1e-9 {
			t.Fatalf("frame %d: %v %v", i, x[:2], y[:2])
		}
	}
}

// The critical distance of 60 m³ that decay in 0.5 s is 0.624 m (computed
// independently from 0.057·√(V/T)); there an omnidirectional microphone hears
// as much of the room as of the source, within 1.5 dB.
func TestCriticalDistance(t *testing.T) {
	rs := &roomScore{size: place{5, 4, 3}, decayS: 0.5}
	if got := rs.criticalM(); math.Abs(got-0.624) > 0.001 {
		t.Errorf("%.4f m", got)
	}
	x := noise(2 * rateHz)
	s := newSession(rs, [][]float64{x})
	buf, sum := new(scratch), 0.0
	s.mics = make([]hearing, 1)
	for from := 0; from < len(x); from += sessionBlock {
		s.fill(buf, from, sessionBlock)
		for _, v := range buf.wet[0] {
			if from > rateHz {
				sum += v * v / float64(rateHz)
			}
		}
	}
	direct := 1 / (0.624 * 0.624)
	if got := dsp.PowerToDB(sum / direct); math.Abs(got) > 1.5 {
		t.Errorf("the room is %.2f dB re the source at the critical distance", got)
	}
}

// A source 1 m from the wall at 0 has its image 1 m behind it.
func TestImages(t *testing.T) {
	rs := &roomScore{size: place{5, 4, 3}, decayS: 0.5}
	got := rs.images(place{1, 2, 1.5})
	want := [6]place{{-1, 2, 1.5}, {1, -2, 1.5}, {1, 2, -1.5}, {9, 2, 1.5}, {1, 6, 1.5}, {1, 2, 4.5}}
	if got != want {
		t.Errorf("%v", got)
	}
}
