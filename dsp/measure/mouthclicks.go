package measure

import "strop/dsp"

const (
	mouthLoHz    = 1500.0
	mouthOver    = 1.3   // ratio of a click to the highest of what is around it, in its band
	mouthUnder   = 36.0  // dB under the voice, at most
	mouthAroundS = 0.012 // to either side
	mouthBeforeS = 0.001 // of a click, before and after where it begins
	mouthAfterS  = 0.004
	mouthPeakS   = 1.0 // over which the peak of the voice is taken, before
	mouthMore    = 2.0 // ratio of what follows a consonant to what was before it
	mouthFrames  = 2   // at least
)

// MouthClicksOf finds the clicks of a wet mouth: those of ClicksOf, and those
// with which a sound begins, that ring and stay alone. Above 1.5 kHz they are
// higher than all else within 12 ms, or what follows is no more than twice as
// high as what was before: not so the click with which a consonant lets go.
//
// Size: its peak above 1.5 kHz against the highest peak of the voice in the
// second before, in dB; less than −36 dB is not looked for. A voice has such
// clicks by nature: the reading is to be compared with another take.
// Source: as ClicksOf; the rest: common practice, no source.
func MouthClicksOf(buf []dsp.Frame, rateHz float64) (clicks []Event) {
	checkRate(rateHz)
	v := newVoice(buf, rateHz)
	if v == nil {
		return nil
	}
	high := v.band(mouthLoHz, rateHz/2)
	frames := func(seconds float64) int { return int(seconds * rateHz) }
	for _, c := range pulsesOf(buf, rateHz) {
		from, to := c.Frame-frames(mouthBeforeS), c.Frame+frames(mouthAfterS)
		peak, _ := peakOfFrames(high, from, to)
		before, _ := peakOfFrames(high, c.Frame-frames(mouthAroundS), from)
		after, _ := peakOfFrames(high, to, c.Frame+frames(mouthAroundS))
		voice, _ := peakOfFrames(buf, c.Frame-frames(mouthPeakS), to)
		size := dsp.ToDB(peak / voice)
		alone := peak > mouthOver*max(before, after) || after < mouthMore*before
		if alone && size > -mouthUnder && c.Frames >= mouthFrames {
			clicks = append(clicks, Event{c.Frame, c.Frames, size})
		}
	}
	return clicks
}
