// Package pitch holds the processors and functions of pitch and time: shifting
// a pitch while the tempo is kept, for a mix and for one voice; changing speed,
// and tempo alone; moving a part, or single notes of it, against the beat.
//
// What keeps the length is a dsp.Spec. What changes it, or has to be told where
// the notes are, is a function on a whole clip.
package pitch

import "math"

// RatioOf is the ratio of two frequencies that lie so many cents apart:
// 2^(cents/1200). 0 cents is 1.
func RatioOf(cents float64) float64 { return math.Exp2(cents / 1200) }
