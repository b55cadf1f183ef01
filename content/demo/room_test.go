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
		in, out := make([]float64, n), new([maxMics][sessionBlock]float64)
		in[0] = 1
		for from := 0; from < n; from += sessionBlock {
			to := min(from+sessionBlock, n)
			r.process(in[from:to], true, out, maxMics)
			for m := range out {
				copy(responses[m][from:to], out[m][:])
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

// The same sound with fewer microphones, the direct way, and in blocks of any
// length.
func TestRoomOfTwoMicrophones(t *testing.T) {
	a, b := newRoom(0.4), newRoom(0.4)
	in := noise(8 * sessionBlock)
	x, y := new([maxMics][sessionBlock]float64), new([maxMics][sessionBlock]float64)
	for from := 0; from < len(in); from += sessionBlock {
		a.process(in[from:from+sessionBlock], true, x, maxMics)
		for at, n := 0, 0; at < sessionBlock; at += n {
			n = min(1+(from+at)%333, sessionBlock-at)
			b.process(in[from+at:from+at+n], true, y, 2)
			for m := range 2 {
				for i := range n {
					if math.Abs(x[m][at+i]-y[m][i]) > 1e-9 {
						t.Fatalf("frame %d of microphone %d: %g and %g", from+at+i, m, x[m][at+i], y[m][i])
					}
				}
			}
		}
	}
}

// A room that rests has fallen by 160 dB or more, and begins anew as if
// nothing had been.
func TestRoomRests(t *testing.T) {
	r, out, silent := newRoom(0.3), new([maxMics][sessionBlock]float64), make([]float64, sessionBlock)
	first := [maxMics]float64{}
	for range 2 {
		last := 0.0
		for i := 0; r.quiet <= r.gone; i++ {
			in := silent
			if i == 0 {
				in = noise(sessionBlock)
			}
			r.process(in, i == 0, out, maxMics)
			if i == 0 {
				for m := range out {
					if v := out[m][sessionBlock-1]; first[m] != 0 && first[m] != v {
						t.Errorf("microphone %d begins with %g, then with %g", m, first[m], v)
					} else {
						first[m] = v
					}
				}
			}
			if r.quiet <= r.gone {
				last = peakOf(out[3][:])
			}
		}
		if level := dsp.ToDB(last); last == 0 || level > -160 || peakOf(out[3][:]) != 0 {
			t.Errorf("it stops at %.0f dB, and goes on at %g", level, peakOf(out[3][:]))
		}
		r.quiet = 0
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
