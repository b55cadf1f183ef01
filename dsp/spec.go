package dsp

import "fmt"

// Spec is the declaration of one kind of processor: data and functions, one
// row of the table in dsp/rack. Whatever shows, parses, builds or tests
// processors reads it here and never asks which one it has.
type Spec struct {
	ID     string  // "peak"; a word in text and in records, never changes
	Name   string  // what a person reads: "peak filter"
	Doc    string  // one sentence: what it does to the sound
	Source string  // where the algorithm was published
	Params []Param // in the order in which they are shown

	// Build makes a processor. It is called by New only, with a setting that
	// has been checked against Params.
	Build func(rateHz float64, s Setting) (Processor, error)

	// Response is the stated complex response at freqHz of each channel, nil
	// where the processor is not linear and time-invariant.
	Response func(rateHz, freqHz float64, s Setting) complex128

	// Matrix is stated instead of Response where the channels are treated
	// differently or mixed: the complex response at freqHz, [to][from], 0 the
	// left channel.
	Matrix func(rateHz, freqHz float64, s Setting) [2][2]complex128

	// Path is the stated response at freqHz, of gain 1 at every frequency, of
	// the way that sound takes while nothing is done to it: the all-passes of
	// crossovers. It is nil where sound then comes out as it went in.
	Path func(rateHz, freqHz float64, s Setting) complex128
}

// Validate reports what is wrong with the declaration.
func (s Spec) Validate() error {
	if s.ID == "" || s.Name == "" || s.Doc == "" || s.Source == "" || s.Build == nil {
		return fmt.Errorf("processor %q: ID, Name, Doc, Source and Build are all needed", s.ID)
	}
	seen := map[string]bool{}
	for _, p := range s.Params {
		if err := p.Validate(); err != nil {
			return fmt.Errorf("processor %s: %w", s.ID, err)
		}
		if seen[p.ID] {
			return fmt.Errorf("processor %s: parameter %s is declared twice", s.ID, p.ID)
		}
		seen[p.ID] = true
	}
	return nil
}

// Rates a processor can be built for, in Hz.
const (
	MinRateHz = 8_000
	MaxRateHz = 384_000
)

// New builds the processor. The error names the first value that Params do
// not allow, or a rate outside MinRateHz to MaxRateHz.
func (s Spec) New(rateHz float64, set Setting) (Processor, error) {
	if !(rateHz >= MinRateHz && rateHz <= MaxRateHz) {
		return nil, fmt.Errorf("%s: a sample rate of %g Hz is outside %d to %d Hz", s.ID, rateHz, MinRateHz, MaxRateHz)
	}
	if err := set.Check(s.Params); err != nil {
		return nil, fmt.Errorf("%s: %w", s.ID, err)
	}
	p, err := s.Build(rateHz, set)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.ID, err)
	}
	return p, nil
}

// Change is a processor and its setting, and where it is applied.
type Change struct {
	Processor string  `json:"processor"`       // Spec.ID
	Setting   Setting `json:"setting"`         // checked against Spec.Params
	Where     string  `json:"where,omitempty"` // a stem or a group; empty: the whole mix
}
