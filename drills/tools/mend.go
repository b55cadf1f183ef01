package tools

import (
	"strop/drills"
	"strop/dsp"
)

// tellUndone says what would have undone a change, and what was turned to.
func tellUndone(a scale) func(drills.Rung, dsp.Setting, dsp.Setting) string {
	return func(r drills.Rung, truth, guess dsp.Setting) string {
		name := func(s dsp.Setting) string { return a.say(s.Get(a.param)) }
		if text, told := tellNothing(truth, guess, name); told {
			return text
		}
		text := name(truth) + " undoes it; you turned to " + name(guess)
		if name(truth) != name(guess) {
			text += ", " + a.off(a.miss(truth.Get(a.param), guess.Get(a.param)))
		}
		return text + "."
	}
}

// bringBack is the question of a drill of undoing.
func bringBack(d drills.Draw, _ dsp.Setting) string {
	return "Bring " + it(d) + " back to how it was."
}
