package fault_test

import (
	"fmt"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/fault"
	"strop/dsp/measure"
)

// A fault says where it was put; a meter finds it there.
func ExampleReporter() {
	loop := dsptest.Music(48000, 1, 2*48000)
	clicks, err := fault.Clicks.New(48000, dsp.Setting{"perS": 2, "levelDBFS": -6, "seed": 4})
	if err != nil {
		fmt.Println(err)
		return
	}
	clicks.Process(loop)
	for _, p := range clicks.(fault.Reporter).Places() {
		fmt.Printf("put at %.3f s, %.0f dBFS\n", float64(p.Frame)/48000, p.SizeDB)
	}
	for _, e := range measure.ClicksOf(loop, 48000) {
		fmt.Printf("found at %.3f s, %.0f dBFS\n", float64(e.Frame)/48000, e.SizeDB)
	}
	// Output:
	// put at 0.031 s, -6 dBFS
	// put at 0.134 s, -6 dBFS
	// put at 0.187 s, -6 dBFS
	// put at 0.600 s, -6 dBFS
	// put at 1.390 s, -6 dBFS
	// found at 0.031 s, -6 dBFS
	// found at 0.134 s, -6 dBFS
	// found at 0.187 s, -6 dBFS
	// found at 0.600 s, -6 dBFS
	// found at 1.390 s, -6 dBFS
}
