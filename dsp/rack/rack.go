// Package rack is the table of all processors, and the way to write a change
// as a line of text.
package rack

import (
	"fmt"
	"slices"
	"strings"

	"strop/dsp"
	"strop/dsp/dynamics"
	"strop/dsp/eq"
	"strop/dsp/fault"
	"strop/dsp/pitch"
	"strop/dsp/saturation"
	"strop/dsp/space"
	"strop/dsp/stereo"
)

// specs is the table, in the order in which a mix is built.
var specs = [...]dsp.Spec{
	fault.Hum,
	fault.Buzz,
	fault.Hiss,
	fault.Rumble,
	fault.DC,
	fault.Clipping,
	fault.Clicks,
	fault.Crackle,
	fault.Dropout,
	fault.TapeDropout,
	fault.Plosive,
	fault.Sibilance,
	fault.Breath,
	fault.MouthClicks,
	fault.Distance,
	fault.Comb,
	fault.Flutter,
	fault.Codec,
	stereo.Gain,
	stereo.Pan,
	stereo.Width,
	stereo.Polarity,
	stereo.Delay,
	stereo.AllPass,
	eq.Peak,
	eq.LowShelf,
	eq.HighShelf,
	eq.LowCut,
	eq.HighCut,
	eq.Notch,
	eq.BandPass,
	eq.Tilt,
	saturation.Tanh,
	saturation.SoftClip,
	saturation.HardClip,
	saturation.Asymmetric,
	saturation.Tape,
	saturation.BitDepth,
	saturation.SampleRate,
	dynamics.Compressor,
	dynamics.VCA,
	dynamics.Optical,
	dynamics.FET,
	dynamics.VariMu,
	dynamics.Gate,
	dynamics.Expander,
	dynamics.Upward,
	dynamics.DeEsser,
	dynamics.Transient,
	dynamics.ThreeBand,
	space.Room,
	space.Chamber,
	space.Hall,
	space.Plate,
	space.Spring,
	space.FDN,
	space.Echo,
	space.Chorus,
	space.Flanger,
	pitch.Shift,
	pitch.Voice,
	pitch.TimeShift,
	dynamics.Limiter,
}

// All is every processor there is. The slice is the caller's.
func All() []dsp.Spec { return slices.Clone(specs[:]) }

// Find is the processor with this ID.
func Find(id string) (dsp.Spec, bool) {
	for i := range specs {
		if specs[i].ID == id {
			return specs[i], true
		}
	}
	return dsp.Spec{}, false
}

// find is Find with an error that names what there is.
func find(id string) (dsp.Spec, error) {
	if s, ok := Find(id); ok {
		return s, nil
	}
	ids := make([]string, len(specs))
	for i := range specs {
		ids[i] = specs[i].ID
	}
	return dsp.Spec{}, fmt.Errorf("there is no processor %q; there are %s", id, strings.Join(ids, ", "))
}

// Build makes the processors of changes, in their order, as one chain. Where
// a change is applied is for the caller to see to.
func Build(rateHz float64, changes ...dsp.Change) (dsp.Chain, error) {
	chain := make(dsp.Chain, len(changes))
	for i, c := range changes {
		spec, err := find(c.Processor)
		if err != nil {
			return nil, err
		}
		if chain[i], err = spec.New(rateHz, c.Setting); err != nil {
			return nil, err
		}
	}
	return chain, nil
}
