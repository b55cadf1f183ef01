package player_test

import (
	"fmt"

	"strop/dsp"
	"strop/game/player"
)

// Two sides of a loop, compared; rendered here, and heard alike on a card.
func Example() {
	untouched, changed := make([]dsp.Frame, 24000), make([]dsp.Frame, 24000)
	for i := range untouched {
		untouched[i], changed[i] = dsp.Frame{0.1, 0.1}, dsp.Frame{0.2, 0.2}
	}
	p, err := player.New(48000, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	program := &player.Program{RateHz: 48000, Sides: [][]dsp.Frame{untouched, changed}}
	if err := p.Play(program, 0); err != nil {
		fmt.Println(err)
		return
	}
	last := func(block []dsp.Frame) error {
		f := block[len(block)-1]
		fmt.Printf("side %d at %5d: %.3f\n", p.Side(), p.Position(), f[0])
		return nil
	}
	_ = player.Render(func([]dsp.Frame) error { return nil }, p, 60000)
	_ = player.Render(last, p, 240)
	_ = p.Switch(1)
	_ = player.Render(last, p, 240) // gone
	_ = player.Render(last, p, 240) // and here
	// Output:
	// side 0 at 12240: 0.100
	// side 1 at 12480: 0.000
	// side 1 at 12720: 0.200
}
