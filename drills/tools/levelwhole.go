package tools

import "strop/drills"

// levelWhole asks by how much all that is heard was raised or lowered.
//
// The ladder is the size of the change. 0.41 dB is heard of wide-band noise:
// G. A. Miller, JASA 19 (1947); in complex sounds 0.5 to 1 dB: Open
// University, Hearing, section 10.3.
func levelWhole() drills.Tool {
	t := levelStem()
	t.ID, t.Title = "level-whole", "Level of the whole"
	t.Doc = "Hear by how much the whole mix was raised or lowered."
	t.Source = "least change of level that is heard, 0.4 dB of noise: G. A. Miller, JASA 19 (1947); 0.5 to 1 dB: Open University, Hearing, section 10.3"
	t.Level.Min = 0.75
	t.Ask = askLevel(t.Level)
	t.Fit = drills.Fit{Mix: true}
	return t
}
