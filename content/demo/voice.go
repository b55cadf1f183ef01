package demo

import (
	"math"
	"math/rand/v2"

	"strop/dsp"
)

// voiceScore is a woman who sings syllables on notes: recorded ones, moved by
// pitch-synchronous overlap-add. Consonants are copied; a vowel is held by a
// random walk over periods that were really sung.
//
//	vibrato  from top to middle, in cents                 22
//	scoop    by which a note begins too low, in cents     70
//	fall     by which it has sunk at its end, in cents    0
//	drift    slow, standard deviation in cents            6
//	jitter   of each period, standard deviation, per cent 0.25
//
// It is labelled as a synthetic lead wherever it is heard: nobody sang this.
//
// Source: Moulines & Charpentier, Pitch-synchronous waveform processing
// techniques for text-to-speech synthesis using diphones, Speech
// Communication 9 (1990) (from memory).
type voiceScore struct {
	vibratoCents, scoopCents, fallCents, driftCents, jitterPercent float64
}

var plainVoice = voiceScore{vibratoCents: 22, scoopCents: 70, driftCents: 6, jitterPercent: 0.25}

func (v *voiceScore) fields(f fields) {
	f.figures["vibrato"], f.figures["scoop"] = &v.vibratoCents, &v.scoopCents
	f.figures["fall"], f.figures["drift"] = &v.fallCents, &v.driftCents
	f.figures["jitter"] = &v.jitterPercent
}

// reach is half the taps with which a period is put between two frames.
const reach, reachBeta = 8, 5

const (
	vibratoHz     = 5.4
	vibratoAfterS = 0.25 // a note is held plain so long
	releaseS      = 0.06
	restS         = 0.03 // a sung note ends so long before the next one's consonant
)

// words are the syllables of events, which are told how long each consonant
// is.
func (r *rendering) words(events []event) (map[string]*syllable, error) {
	words := map[string]*syllable{}
	for i, e := range events {
		if words[e.word] == nil {
			syl, err := readSyllable(e.word, &r.kernels)
			if err != nil {
				return nil, err
			}
			words[e.word] = syl
		}
		events[i].consonant = words[e.word].consonant
	}
	return words, nil
}

// playVoice sings all notes. A vowel begins on its note, so the consonant
// comes before it.
func (src *sourceScore) playVoice(dst track, events []event, words map[string]*syllable, r *rand.Rand) {
	k := newKernel(1, reach, reachBeta)
	for i, e := range events {
		end := min(e.stop, float64(len(dst[0])))
		if i+1 < len(events) && events[i+1].start-end < 0.3*rateHz {
			end = min(end, events[i+1].start-float64(events[i+1].consonant))
		}
		n := singing{syllable: words[e.word], voiceScore: src.voice, r: r, k: k}
		n.start, n.end = e.start, max(end-restS*rateHz, e.start+0.06*rateHz)
		n.freqHz, n.ratio = 440*math.Exp2((e.key-69)/12), dsp.FromDB(e.levelDB)
		n.sing(dst[0])
	}
}

// singing is one syllable on one note.
type singing struct {
	*syllable
	voiceScore
	start, end    float64 // of the vowel
	freqHz, ratio float64
	r             *rand.Rand
	k             *kernel
}

func (n *singing) sing(dst []float64) {
	n.speak(dst)
	at, mark, drift := n.start, 0, 0.0
	phase := 2 * math.Pi * n.r.Float64()
	for at < n.end+releaseS*rateHz {
		t := (at - n.start) / rateHz
		drift += 0.05*n.driftCents*n.r.NormFloat64() - 0.0013*drift
		cents := n.bend(t, phase) + drift
		period := rateHz / (n.freqHz * math.Exp2(cents/1200)) * (1 + n.jitterPercent/100*normal(n.r))
		n.grain(dst, at, mark, period)
		mark = n.next(mark, n.end-at)
		at += period
	}
}

// speak copies what comes before the first mark. It fades out under the first
// grain, as that fades in.
func (n *singing) speak(dst []float64) {
	first, half := int(n.start)-n.consonant, int(n.period)
	for i, v := range n.x[:n.consonant] {
		if left := n.consonant - i; left <= half {
			v *= 1 - n.window[half-left]
		}
		if i < fadeFrames {
			v *= float64(i) / fadeFrames
		}
		if at := first + i; at >= 0 && at < len(dst) {
			dst[at] += n.ratio * v
		}
	}
}

// fadeFrames is how fast a cut recording begins: 1 ms.
const fadeFrames = 48

// bend is how far the pitch lies off the note after t seconds.
func (n *singing) bend(t, phase float64) float64 {
	vibrato := n.vibratoCents * min(1, max(0, (t-vibratoAfterS)/0.3))
	whole := max(0.05, (n.end-n.start)/rateHz)
	return vibrato*math.Sin(2*math.Pi*vibratoHz*t+phase) - n.scoopCents*math.Exp(-t/0.045) - n.fallCents*t/whole
}

// next is the mark after another: in order through the beginning, at random
// through the middle, and in order through the end when it is time for it.
func (n *singing) next(mark int, leftFrames float64) int {
	tail := len(n.marks) - n.steadyTo
	switch {
	case mark >= n.steadyTo:
		return min(mark+1, len(n.marks)-1)
	case leftFrames < float64(tail)*n.period:
		return n.steadyTo
	case mark < n.steadyFrom:
		return mark + 1
	}
	step := n.r.IntN(5) - 2
	if mark+step < n.steadyFrom || mark+step >= n.steadyTo {
		step = -step
	}
	return min(max(mark+step, n.steadyFrom), n.steadyTo-1)
}

// grain adds two periods around a mark, under a raised cosine, centred at a
// fraction of a frame. Loudness is kept where pitch is not.
func (n *singing) grain(dst []float64, at float64, mark int, period float64) {
	centre, half := n.marks[mark], int(n.period)
	whole := math.Floor(at)
	taps := n.k.taps[int((1-(at-whole))*kernelPhases)]
	ratio := n.ratio * n.gains[mark] * min(1.2, period/n.period)
	if at > n.end {
		ratio *= max(0, 1-(at-n.end)/(releaseS*rateHz))
	}
	first := int(whole) - half
	for i := -half; i <= half; i++ {
		d, from := first+half+i, centre+i-reach
		if d < 0 || d >= len(dst) || from < 0 || from+2*reach > len(n.x) {
			continue
		}
		sum := 0.0
		for j, v := range n.x[from : from+2*reach] {
			sum += taps[j] * v
		}
		dst[d] += ratio * n.window[half+i] * sum
	}
}
