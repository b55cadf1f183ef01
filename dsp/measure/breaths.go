package measure

import (
	"math"

	"strop/dsp"
)

const (
	breathLeastHops = 20 // 100 ms
	breathMostHops  = 160
	breathUnderDB   = 6.0 // the voice, at least
	breathRangeDB   = 50.0
	breathOverDB    = 8.0  // what lies before and after it
	breathPhrase    = 60   // hops in which a phrase begins
	breathPhraseDB  = 8.0  // so far under the voice, at most
	breathPeriodic  = 0.45 // correlation with a period, at most
	breathSide      = 8    // hops before and after
)

// BreathsOf finds breaths before phrases: 100 to 800 ms of noise, 6 to 50 dB
// under the voice, without a period and with less above 5 kHz than from 0.2 to
// 2 kHz, that stands 8 dB out of what is shortly before and after it, and is
// followed by the voice within 0.3 s. Size: rms of its loudest half against the
// mean of the voice, in dB.
// Source: D. Ruinskiy, Y. Lavner, An effective algorithm for automatic
// detection and exact demarcation of breath sounds in speech and song signals,
// IEEE TASLP 15(3) (2007), for energy, length and surroundings (from memory).
// Differs from it in: no template; the period and the bands instead.
func BreathsOf(buf []dsp.Frame, rateHz float64) (breaths []Event) {
	checkRate(rateHz)
	v := newVoice(buf, rateHz)
	if v == nil {
		return nil
	}
	body := v.band(midLoHz, rateHz/2)
	powers := hopPowers(body, v.hop)
	least, most := v.level*math.Pow(10, -breathRangeDB/10), v.level*math.Pow(10, -breathUnderDB/10)
	samples := Mid.Samples(body)
	for k := 0; k < len(powers); k++ {
		end := k
		for end < len(powers) && powers[end] > least && powers[end] < most && v.top[end] < v.mid[end] {
			end++
		}
		if end > k {
			if e, ok := v.breathIn(samples, powers, k, end); ok {
				breaths = append(breaths, e)
			}
			k = end
		}
	}
	return breaths
}

// breathIn is the breath among hops from k to end, all of which are quiet
// enough: what stands out of its surroundings there.
func (v *voice) breathIn(samples, powers []float64, k, end int) (Event, bool) {
	top := k
	for j := k; j < end; j++ {
		if smooth(powers, j) > smooth(powers, top) {
			top = j
		}
	}
	from, to, edge := top, top+1, smooth(powers, top)*math.Pow(10, -breathOverDB/10)
	for from > 0 && smooth(powers, from-1) > edge {
		from--
	}
	for to < len(powers) && smooth(powers, to) > edge {
		to++
	}
	length := to - from
	if from < k-breathSide || to > end+breathSide || length < breathLeastHops || length > breathMostHops {
		return Event{}, false
	}
	phrase := false
	for j := to; j < min(len(powers), to+breathPhrase); j++ {
		phrase = phrase || v.mid[j] > v.level*math.Pow(10, -breathPhraseDB/10)
	}
	if !phrase || v.periodic(samples, from, to) {
		return Event{}, false
	}
	size := dsp.PowerToDB(meanOf(powers, top-length/4, top+length/4+1) / v.level)
	return Event{from * v.hop, length * v.hop, size}, true
}

// smooth is the mean of five powers.
func smooth(powers []float64, k int) float64 { return meanOf(powers, k-2, k+3) }

// periodic reports whether most of a stretch repeats itself after 2 to 12 ms.
func (v *voice) periodic(x []float64, from, to int) bool {
	yes, all := 0, 0
	window := int(0.03 * v.rateHz)
	for k := from; k < to; k += 4 {
		start := k * v.hop
		if start+window+int(0.012*v.rateHz) > len(x) {
			break
		}
		best := 0.0
		for lag := int(0.002 * v.rateHz); lag <= int(0.012*v.rateHz); lag++ {
			best = max(best, likeness(x[start:][:window], x[start+lag:][:window]))
		}
		all++
		if best > breathPeriodic {
			yes++
		}
	}
	return 2*yes > all
}
