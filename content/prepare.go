package content

import (
	"context"
	"math"
	"slices"
	"sync/atomic"

	"strop/dsp"
	"strop/dsp/measure"
)

// survey is what is known of the stems of a folder from pieces of them.
type survey struct {
	lufs  []float64 // estimate of the integrated loudness, −Inf: silent
	loudS []float64 // where the loudest piece is
	fails []error
}

// Prepare decodes what cannot be read from the middle, guesses the roles and
// pairs that no name tells, and sets the faders that nobody did.
func (f *folder) Prepare(ctx context.Context, progress func(share float64)) (Sheet, error) {
	f.sheet.Stems = slices.Clone(f.sheet.Stems) // others are reading those of the first sheet
	found := f.survey(ctx, progress)
	if ctx.Err() != nil {
		return f.sheet, ctx.Err()
	}
	f.guessRoles(ctx, found)
	f.guessPairs(ctx, found)
	f.sheet.Faders = balance(f.sheet.Stems, found.lufs)
	for i, s := range f.sheet.Stems {
		if fader, ok := f.kept.Faders[s.Name]; ok {
			f.sheet.Faders[i] = fader
		}
		if err := found.fails[i]; err != nil {
			f.sheet.Warnings = append(f.sheet.Warnings, s.Name+": "+err.Error())
			f.sheet.Faders[i].Muted = f.sheet.Faders[i].Muted || math.IsInf(found.lufs[i], -1)
		}
	}
	return f.sheet, ctx.Err()
}

func (f *folder) survey(ctx context.Context, progress func(share float64)) survey {
	n := len(f.files)
	found := survey{make([]float64, n), make([]float64, n), make([]error, n)}
	var done atomic.Int64
	together(n, func(i int) {
		found.fails[i] = f.files[i].decode(ctx)
		f.sheet.Stems[i].Frames = f.files[i].frames
		var err error
		if found.lufs[i], found.loudS[i], err = f.loudness(ctx, i); err != nil {
			found.fails[i] = err
		}
		progress(float64(done.Add(1)) / float64(n))
	})
	return found
}

// How loudness is estimated without reading a stem whole: K-weighted power of
// pieces spread evenly, gated as in ITU-R BS.1770-5. Pieces are measured after
// a run-in that settles the weighting.
const (
	samplePieces = 24
	sampleS      = 0.4
	settleS      = 0.05
)

// loudness is an estimate for one stem, at its own rate: −Inf where it is
// silent wherever it was looked at.
func (f *folder) loudness(ctx context.Context, i int) (lufs, loudS float64, err error) {
	s, rateHz := f.files[i], f.sheet.Stems[i].RateHz
	piece, settle := int64(sampleS*rateHz), int64(settleS*rateHz)
	meter := measure.NewLoudnessMeter(rateHz, 2)
	buf := make([]dsp.Frame, settle+piece)
	powers, highest := make([]float64, samplePieces), 0.0
	for k := range powers {
		at := (s.frames - piece - settle) * int64(k) / (samplePieces - 1)
		if err := s.readOwn(ctx, buf, at); err != nil {
			return math.Inf(-1), 0, err
		}
		meter.Reset()
		meter.Process(buf)
		if powers[k] = math.Pow(10, meter.Momentary()/10); powers[k] > highest {
			highest, loudS = powers[k], float64(at)/rateHz
		}
	}
	return gatedLUFS(powers), loudS, nil
}

// gatedLUFS is the mean of blocks of 400 ms, in LUFS, over those that pass
// both gates of ITU-R BS.1770-5: −70 LUFS, and 10 LU under the mean of what
// passed the first.
func gatedLUFS(powers []float64) float64 {
	absolute := math.Pow(10, -70.0/10)
	return dsp.PowerToDB(meanAbove(powers, max(absolute, meanAbove(powers, absolute)/10)))
}

func meanAbove(powers []float64, gate float64) float64 {
	sum, n := 0.0, 0
	for _, p := range powers {
		if p > gate {
			sum += p
			n++
		}
	}
	return sum / float64(max(n, 1))
}
