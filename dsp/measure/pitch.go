package measure

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"strop/dsp"
	"strop/dsp/yin"
)

// PitchPoint is the pitch of a sound at a time.
type PitchPoint struct {
	TimeS  float64 // from the first frame, in the middle of what was looked at
	FreqHz float64 // 0 where there is none
	Rest   float64 // YIN's d' at that period: the share of the power that does not repeat, 0 to about 1
}

// PitchTrack is the pitch of a sound in the course of time, every 10 ms.
type PitchTrack []PitchPoint

// PitchRange is where a pitch is looked for.
type PitchRange struct{ LowHz, HighHz float64 }

// AnyPitch is the range of basses, guitars and voices.
var AnyPitch = PitchRange{40, 1600}

const (
	pitchHopS      = 0.01
	pitchWindowS   = 2048.0 / 48000
	pitchThreshold = 0.1
)

// Cents is how much higher one frequency is than another: 1200·log2(f/ref).
func Cents(freqHz, referenceHz float64) float64 { return 1200 * math.Log2(freqHz/referenceHz) }

// NearestNote is the note of equal temperament nearest to a frequency, as a MIDI
// number, 69 for A4 at 440 Hz (ISO 16), and how many cents higher the frequency
// is, within ±50.
func NearestNote(freqHz float64) (note int, cents float64) {
	semitones := 69 + 12*math.Log2(freqHz/440)
	note = int(math.Round(semitones))
	return note, 100 * (semitones - float64(note))
}

// YIN is the pitch of one voice, looked at by itself every 10 ms through 43 ms:
// the first period at which less than a tenth does not repeat. Between samples
// it is found as if the sound had four times the rate. Tones from 55 to 1318 Hz
// are right within 0.1 cent; white noise 20 dB below adds 0.2 to a sawtooth, and
// up to 5 to a sine.
//
// It is an error if the range leaves the rate divided by 20 or lies below 20
// Hz.
//
// Source: A. de Cheveigné, H. Kawahara, YIN, a fundamental frequency estimator
// for speech and music, JASA 111(4) (2002) (from memory).
func YIN(x []float64, rateHz float64, r PitchRange) (PitchTrack, error) {
	look, err := newPitchLook(rateHz, r)
	if err != nil {
		return nil, err
	}
	track := look.track(len(x))
	for i := range track {
		frames := look.at(x, i)
		d := look.finder.Compare(frames)
		if lag := yin.First(d, look.least, pitchThreshold); lag > 0 {
			track[i].FreqHz, track[i].Rest = rateHz/look.finder.Refine(frames, lag), d[lag]
			continue
		}
		track[i].Rest = slices.Min(d[look.least:])
	}
	return track, nil
}

// pitchLook takes windows out of a sound.
type pitchLook struct {
	rateHz float64
	finder *yin.Finder
	least  int // the shortest lag
	buf    []float64
}

func newPitchLook(rateHz float64, r PitchRange) (*pitchLook, error) {
	if err := rateError(rateHz); err != nil {
		return nil, err
	}
	if !(r.LowHz >= 20 && r.LowHz < r.HighHz && r.HighHz <= rateHz/20) {
		return nil, fmt.Errorf("a pitch from %g to %g Hz: take a range from 20 to %g Hz", r.LowHz, r.HighHz, rateHz/20)
	}
	finder := yin.New(int(math.Round(pitchWindowS*rateHz)), int(rateHz/r.LowHz)+2)
	return &pitchLook{rateHz, finder, int(rateHz / r.HighHz), make([]float64, finder.Frames())}, nil
}

// track is one point for each window whose middle lies within n frames.
func (p *pitchLook) track(n int) PitchTrack {
	track := make(PitchTrack, int(float64(n)/p.rateHz/pitchHopS)+1)
	for i := range track {
		track[i].TimeS = float64(i) * pitchHopS
	}
	return track
}

// at is the window of point i; what lies outside of x is silence.
func (p *pitchLook) at(x []float64, i int) []float64 {
	first := int(math.Round(float64(i)*pitchHopS*p.rateHz)) - len(p.buf)/2
	clear(p.buf)
	if first < 0 {
		copy(p.buf[min(-first, len(p.buf)):], x)
	} else if first < len(x) {
		copy(p.buf, x[first:])
	}
	return p.buf
}

// Within is the part of a track between two times.
func (t PitchTrack) Within(fromS, toS float64) PitchTrack {
	byTime := func(p PitchPoint, s float64) int { return cmp.Compare(p.TimeS, s) }
	from, _ := slices.BinarySearchFunc(t, fromS, byTime)
	to, _ := slices.BinarySearchFunc(t, toS, byTime)
	return t[from:max(from, to)]
}

// CentsFrom is the median of a track, in cents from a reference, and its spread:
// half of what lies between the first and the third quartile. voiced is the
// share of the points that have a pitch; where that is 0 the others are not a
// number.
func (t PitchTrack) CentsFrom(referenceHz float64) (median, spread, voiced float64) {
	var cents []float64
	for _, p := range t {
		if p.FreqHz > 0 {
			cents = append(cents, Cents(p.FreqHz, referenceHz))
		}
	}
	if len(cents) == 0 {
		return math.NaN(), math.NaN(), 0
	}
	slices.Sort(cents)
	n := len(cents)
	return cents[n/2], (cents[3*n/4] - cents[n/4]) / 2, float64(n) / float64(len(t))
}

// Mono is the sum of both channels, for a pitch meter.
func Mono(buf []dsp.Frame) []float64 {
	x := make([]float64, len(buf))
	for i, f := range buf {
		x[i] = f[0] + f[1]
	}
	return x
}
