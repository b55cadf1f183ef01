package space_test

import (
	"fmt"

	"strop/dsp"
	"strop/dsp/measure"
	"strop/dsp/space"
)

// What a hall was set to, and what it is: the second is the truth.
func ExampleReverberator() {
	p, err := space.Hall.New(48000, dsp.Setting{"decayS": 1.5, "trebleRatio": 0.5, "drrDB": 6})
	if err != nil {
		fmt.Println(err)
		return
	}
	response := p.(space.Reverberator).Response()
	bands, err := measure.OctaveDecays(response[0][1], 48000)
	if err != nil {
		fmt.Println(err)
		return
	}
	set := space.Decays(1.5, 1.1, 0.5)
	for _, i := range []int{2, 4, 7} {
		fmt.Printf("%.0f Hz: set %.1f s, measured %.1f s\n", bands[i].FreqHz, set[i], bands[i].T30S)
	}
	// Output:
	// 251 Hz: set 1.6 s, measured 1.6 s
	// 1000 Hz: set 1.5 s, measured 1.5 s
	// 7943 Hz: set 0.8 s, measured 0.8 s
}
