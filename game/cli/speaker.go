package cli

import (
	"fmt"

	"strop/dsp"
	"strop/game/desk"
	"strop/game/player/card"
)

// soundFlags choose where the sound goes.
type soundFlags struct {
	Device string `help:"The sound card, by its name (strop doctor lists them)." placeholder:"NAME"`
	Buffer int    `help:"Frames in a period of the sound card's buffer; 0: the usual." default:"0"`
	Silent bool   `help:"Do not open a sound card."`
}

// open opens the sound. What is wrong with it is a sentence on Stdout, never
// an end.
func (f soundFlags) open(env Env, rateHz float64) (*desk.Sound, error) {
	if f.Silent {
		return desk.NoSound(rateHz)
	}
	sound, err := desk.OpenSound(card.Config{Device: f.Device, RateHz: rateHz, PeriodFrames: f.Buffer})
	if err == nil && sound.Err() != nil {
		fmt.Fprintf(env.Stdout, "There is no sound: %v. --out DIR writes it to files.\n", sound.Err())
	}
	return sound, err
}

// speaker plays the sides, and where a folder is given writes them there.
type speaker struct {
	sound   *desk.Sound
	folder  string
	written int // sides of the present trial that are in the folder
	trial   int
}

var _ listener = (*speaker)(nil)

// Present plays and writes the sides that are new.
func (s *speaker) Present(trial int, rateHz float64, sides [][]dsp.Frame, side int) error {
	if trial != s.trial {
		s.trial, s.written = trial, 0
	}
	for i := range sides {
		if s.folder == "" || i < s.written && i != mine { // mine may have been turned
			continue
		}
		name := fmt.Sprintf("trial %02d %s.wav", trial, sideNames[i])
		if err := writeSide(s.folder, name, rateHz, sides[i]); err != nil {
			return err
		}
	}
	s.written = max(s.written, len(sides))
	return s.sound.Play(rateHz, sides, side)
}

func (s *speaker) Switch(side int) { _ = s.sound.Player.Switch(side) } // a side that was presented is there

func (s *speaker) Restart() { s.sound.Restart() }
