package content

import (
	"context"
	"math"

	"strop/dsp"
)

// guessS is how much of a stem is listened to for a guess.
const guessS = 5

// guessRoles gives roles to stems whose names say nothing, where the sound
// says something.
func (f *folder) guessRoles(ctx context.Context, found survey) {
	together(len(f.files), func(i int) {
		s := &f.sheet.Stems[i]
		if s.RoleFrom != Unknown || math.IsInf(found.lufs[i], -1) {
			return
		}
		frames, err := f.around(ctx, i, found.loudS[i], guessS)
		if err != nil {
			return // it was readable just now: whoever reads it next is told
		}
		if role := RoleOfSound(FitOf(frames, s.RateHz)); role != "" {
			s.Role, s.RoleFrom = role, FromContent
		}
	})
}

// around is seconds of a stem about a moment, at its own rate.
func (f *folder) around(ctx context.Context, i int, atS, seconds float64) ([]dsp.Frame, error) {
	s, rateHz := f.files[i], f.sheet.Stems[i].RateHz
	n := min(int64(seconds*rateHz), s.frames)
	frames := make([]dsp.Frame, n)
	start := min(max(int64((atS-seconds/2)*rateHz), 0), s.frames-n)
	return frames, s.readOwn(ctx, frames, start)
}

// RoleOfSound guesses what a stem is from a few loud seconds of it, and is ""
// where that would be a mere guess: voices, guitars, keyboards and
// synthesisers have too much in common. The rules are our own, found on the demo songs:
//
//	kick   nearly all below 250 Hz, most below 120 Hz, struck
//	bass   nearly all below 250 Hz, never down for long
//	hat    nearly all above 5 kHz, struck more than twice a second
//	snare  struck, short, some of it above 5 kHz, little below 120 Hz
func RoleOfSound(f Fit) Role {
	low, lows, high := f.shareOf(0, 120), f.shareOf(0, 250), f.shareOf(5000, 20000)
	struck := f.Pitched < 0.1 && f.OnsetsPerS > 0.4 && f.Gaps > 0.55
	switch {
	case f.Silent() || f.OnsetsPerS == 0 && f.Sustained < 0.5:
		return ""
	case lows > 0.9 && low > 0.75 && f.Pitched < 0.3 && (f.Gaps > 0.33 || f.CrestDB > 17.5):
		return Kick
	case lows > 0.88 && f.Gaps < 0.3 && f.CrestDB < 16.5:
		return Bass
	case high > 0.75 && f.OnsetsPerS > 2.5:
		return Hat
	case struck && f.CrestDB > 16.5 && high > 0.1 && high < 0.3 && low < 0.15:
		return Snare
	}
	return ""
}

// shareOf is the power between two frequencies over that of all.
func (f Fit) shareOf(loHz, hiHz float64) float64 {
	power := 0.0
	for i, db := range f.BandsDB {
		if hz := dsp.ThirdOctaveHz(i); hz >= loHz && hz < hiHz {
			power += math.Pow(10, db/10)
		}
	}
	return power / math.Pow(10, f.TotalDB/10)
}
