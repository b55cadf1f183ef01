package measure

import (
	"math"

	"strop/dsp"
)

// Sibilance is how loud the s and sh of a voice are.
//
//	LevelDB    their power from 5 to 10 kHz against that of the voice from 0.2
//	           to 2 kHz while it sounds; −Inf where there is none
//	SharePct   of the time
//	Sibilants  each of them; its size is its own level
type Sibilance struct {
	LevelDB, SharePct float64
	Sibilants         []Event
}

const (
	sibilantRatio   = 0.5  // of the top to the middle, in a sibilant
	sibilantRangeDB = 45.0 // under the voice, at most
	sibilantHops    = 4    // at least
	sibilantGap     = 2    // hops that do not end one
)

// SibilanceOf measures a voice. Every voice has sibilants: the reading is to be
// compared, with another take or with the untouched side. A sibilant is where
// the power from 5 to 10 kHz is more than half of that from 0.2 to 2 kHz for 20
// ms or more. In a mix, cymbals are taken for sibilants.
// Source: bands as makers of de-essers give them, 4 to 10 kHz; the ratio and
// the times: common practice, no source.
func SibilanceOf(buf []dsp.Frame, rateHz float64) Sibilance {
	checkRate(rateHz)
	v := newVoice(buf, rateHz)
	s := Sibilance{LevelDB: math.Inf(-1)}
	if v == nil {
		return s
	}
	least, sum, hops := v.level*math.Pow(10, -sibilantRangeDB/10), 0.0, 0
	is := func(k int) bool { return v.top[k] > sibilantRatio*v.mid[k] && v.top[k] > least }
	for k := 0; k < len(v.top); k++ {
		if !is(k) {
			continue
		}
		end := k + 1
		for j := end; j < min(len(v.top), end+1+sibilantGap); j++ {
			if is(j) {
				end = j + 1
			}
		}
		if end-k >= sibilantHops {
			power := mean(v.top[k:end])
			s.Sibilants = append(s.Sibilants, Event{k * v.hop, (end - k) * v.hop, dsp.PowerToDB(power / v.level)})
			sum += power * float64(end-k)
			hops += end - k
		}
		k = end
	}
	s.LevelDB, s.SharePct = dsp.PowerToDB(sum/float64(max(hops, 1))/v.level), 100*float64(hops)/float64(len(v.top))
	return s
}
