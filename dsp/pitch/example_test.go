package pitch_test

import (
	"fmt"
	"math"

	"strop/dsp"
	"strop/dsp/measure"
	"strop/dsp/pitch"
)

// A part that is 20 cents sharp, and as long as it was.
func ExampleShift() {
	const rateHz = 48000
	part := make([]dsp.Frame, 3*rateHz)
	for i := range part {
		x := 0.5 * math.Sin(2*math.Pi*220*float64(i)/rateHz)
		part[i] = dsp.Frame{x, x}
	}
	p, err := pitch.Shift.New(rateHz, dsp.Setting{"cents": 20})
	if err != nil {
		fmt.Println(err)
		return
	}
	p.Process(part)
	track, err := measure.PYIN(measure.Mono(part), rateHz, measure.AnyPitch)
	if err != nil {
		fmt.Println(err)
		return
	}
	cents, _, _ := track.Within(1, 2.5).CentsFrom(220)
	fmt.Printf("%d frames, %.1f cents\n", len(part), cents)
	// Output: 144000 frames, 20.0 cents
}

// The same tape, three per cent faster.
func ExampleVarispeed() {
	y, err := pitch.Varispeed(make([]dsp.Frame, 48000), 1.03)
	fmt.Println(len(y), err)
	// Output: 46602 <nil>
}
