package measure

import (
	"math"

	"strop/dsp"
)

const (
	plosiveSplitHz = 135
	plosiveBurstHz = 90   // below this a burst stands out; few voices sound there
	plosiveLeastDB = -12  // against the voice
	plosiveOverDB  = 10   // over the low end before and after
	plosiveCoreS   = 0.04 // the loudest part of a burst
	plosiveVoiceS  = 0.11 // in which the voice follows
	plosiveBackS   = 0.02
	plosiveVoiceDB = 30 // under the loudest of the clip, at most
)

// PlosivesOf finds where a voice pops the microphone: bursts of low
// frequency at its beginnings, in the order of time. A burst is where the power
// below 90 Hz of 40 ms lies 10 dB over that of 100 ms shortly before and shortly
// after.
//
// An event lies at the peak of the burst below 135 Hz. Its size is that peak
// against that of the voice above 135 Hz in the 110 ms that follow, in dB; less than
// −12 dB is not looked for. It is a meter of one voice: a drum of low pitch has
// all that a plosive has.
// Source: common practice, no source.
func PlosivesOf(buf []dsp.Frame, rateHz float64) (plosives []Event) {
	checkRate(rateHz)
	v := newVoice(buf, rateHz)
	if v == nil {
		return nil
	}
	low := v.band(0, plosiveSplitHz)
	rest := make([]dsp.Frame, len(buf))
	for i := range rest {
		rest[i] = dsp.Frame{buf[i][0] - low[i][0], buf[i][1] - low[i][1]}
	}
	loudest, _ := peakOfFrames(rest, 0, len(rest))
	powers := hopPowers(v.band(0, plosiveBurstHz), v.hop)
	core := int(plosiveCoreS / voiceHopS)
	for k := 0; k+core <= len(powers); k++ {
		if !highestAround(powers, k, core) {
			continue
		}
		here := mean(powers[k : k+core])
		before, after := meanOf(powers, k-28, k-8), meanOf(powers, k+core+16, k+core+36)
		if over := math.Pow(10, plosiveOverDB/10); here < over*before || here < over*after {
			continue
		}
		peak, at := peakOfFrames(low, k*v.hop, (k+core)*v.hop)
		back, ahead := int(plosiveBackS*rateHz), int(plosiveVoiceS*rateHz)
		sung, _ := peakOfFrames(rest, at-back, at+ahead)
		size := dsp.ToDB(peak / sung)
		if size < plosiveLeastDB || sung < loudest*dsp.FromDB(-plosiveVoiceDB) {
			continue
		}
		plosives = append(plosives, Event{at, core * v.hop, size})
	}
	return plosives
}

// highestAround reports whether the mean of n powers from k on is the highest
// of those that begin up to n before or after.
func highestAround(powers []float64, k, n int) bool {
	here := mean(powers[k : k+n])
	for j := max(0, k-n); j <= min(k+n, len(powers)-n); j++ {
		if m := mean(powers[j : j+n]); m > here || m == here && j < k {
			return false
		}
	}
	return here > 0
}

// meanOf is the mean of x[from:to], as far as it exists; 0 where it does not.
func meanOf(x []float64, from, to int) float64 {
	from, to = max(from, 0), min(to, len(x))
	if from >= to {
		return 0
	}
	return mean(x[from:to])
}
