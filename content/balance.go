package content

import (
	"context"
	"math"
	"sync/atomic"

	"strop/dsp"
	"strop/dsp/measure"
)

// How loudness is estimated without reading a stem whole: K-weighted power of
// pieces spread evenly, gated as in ITU-R BS.1770-5. Pieces are measured after
// a run-in that settles the weighting.
const (
	samplePieces = 24
	sampleS      = 0.4
	settleS      = 0.05
)

// mixLU is the loudness of each role in the rough mix, that of the lead vocal
// being 0. Common practice, no source: it is where a mix begins, not where it
// should end.
var mixLU = map[Role]float64{
	Kick: -3, Snare: -4, Hat: -12, Tom: -9, Cymbal: -13, Overhead: -8, Room: -12, Percussion: -10,
	DrumMachine: -3, Drums: -2, Bass: -4, Guitar: -7, Keys: -7, Synth: -8, Strings: -9, Brass: -8, Wind: -7,
	LeadVocal: 0, BackingVocal: -8, Speech: 0, Effect: -13, "": -8,
}

// roughLUFS is the loudness that a rough mix aims at: low enough for any sum
// of stems to stay clear of full scale.
const roughLUFS = -23

// Prepare decodes what cannot be read from the middle, guesses the roles that
// no name says, and sets the faders that nobody did.
func (f *folder) Prepare(ctx context.Context, progress func(share float64)) (Sheet, error) {
	n := len(f.files)
	lufs, errs := make([]float64, n), make([]error, n)
	var done atomic.Int64
	together(n, func(i int) {
		lufs[i], errs[i] = f.loudness(ctx, i)
		progress(float64(done.Add(1)) / float64(n))
	})
	for i, err := range errs {
		if ctx.Err() != nil {
			return f.sheet, ctx.Err()
		}
		if err != nil {
			f.sheet.Warnings = append(f.sheet.Warnings, f.sheet.Stems[i].Name+": "+err.Error())
		}
	}
	f.sheet.Faders = balance(f.sheet.Stems, lufs)
	for i, s := range f.sheet.Stems {
		if fader, ok := f.kept.Faders[s.Name]; ok {
			f.sheet.Faders[i] = fader
		}
	}
	return f.sheet, nil
}

// loudness is an estimate for one stem, at its own rate: −Inf where it is
// silent wherever it was looked at.
func (f *folder) loudness(ctx context.Context, i int) (float64, error) {
	s, rateHz := f.files[i], f.sheet.Stems[i].RateHz
	piece, settle := int64(sampleS*rateHz), int64(settleS*rateHz)
	meter := measure.NewLoudnessMeter(rateHz, 2)
	buf := make([]dsp.Frame, settle+piece)
	var powers []float64
	for k := range int64(samplePieces) {
		at := (s.frames - piece - settle) * k / (samplePieces - 1)
		if err := s.readOwn(ctx, buf, at); err != nil {
			return math.Inf(-1), err
		}
		meter.Reset()
		meter.Process(buf)
		powers = append(powers, math.Pow(10, meter.Momentary()/10))
	}
	return gatedLUFS(powers), nil
}

// gatedLUFS is the mean of blocks of 400 ms, in LUFS, over those that pass
// both gates of ITU-R BS.1770-5: −70 LUFS, and 10 LU under the mean of what
// passed the first.
func gatedLUFS(powers []float64) float64 {
	loud := meanAbove(powers, math.Pow(10, -70.0/10))
	return dsp.PowerToDB(meanAbove(powers, max(math.Pow(10, -70.0/10), loud/10)))
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

// balance sets faders so that each stem has the loudness of its role; several
// of one role share it. Mono stems of a pair go left and right where their
// names say so.
func balance(stems []Stem, lufs []float64) []Fader {
	count := map[Role]int{}
	for i, s := range stems {
		if !math.IsInf(lufs[i], -1) {
			count[s.Role]++
		}
	}
	faders, power := make([]Fader, len(stems)), 0.0
	for i, s := range stems {
		switch {
		case s.Role == Click || s.Role == Mix && len(stems) > 1:
			faders[i].Muted = true
		case !math.IsInf(lufs[i], -1):
			level := mixLU[s.Role] - dsp.PowerToDB(float64(count[s.Role]))/2
			faders[i] = Fader{GainDB: level - lufs[i], Pan: panOfName(s)}
			power += math.Pow(10, level/10)
		}
	}
	for i := range faders {
		if !faders[i].Muted && !math.IsInf(lufs[i], -1) && power > 0 {
			faders[i].GainDB += roughLUFS - dsp.PowerToDB(power)
		}
	}
	return faders
}

// panOfName is where a mono stem stands that is named as one side.
func panOfName(s Stem) float64 {
	if s.Channels == 2 {
		return 0
	}
	for _, word := range nameWords(s.Name) {
		switch word {
		case "l", "left", "ohl", "rooml":
			return -0.8
		case "r", "right", "ohr", "roomr":
			return 0.8
		}
	}
	return 0
}
