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
// where that would be a mere guess: guitars, keyboards and voices have too much
// in common. The rules are our own; how often they hold is measured in the test.
func RoleOfSound(f Fit) Role {
	if f.Silent() {
		return ""
	}
	low, high := f.shareOf(0, 120), f.shareOf(5000, 20000)
	struck := f.Pitched < 0.35 && f.CrestDB > 12 && f.OnsetsPerS > 0.4
	switch {
	case struck && low > 0.6 && f.CrestDB > 15:
		return Kick
	case high > 0.6 && f.Pitched < 0.2:
		return Hat
	case f.shareOf(0, 250) > 0.8 && f.Pitched > 0.5:
		return Bass
	case struck && f.SideDB > -30 && f.Pitched < 0.2:
		return Drums
	case struck && f.CrestDB > 18 && f.Pitched < 0.15 && f.shareOf(150, 5000) > 0.5:
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
