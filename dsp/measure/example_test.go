package measure_test

import (
	"fmt"
	"math"

	"strop/dsp"
	"strop/dsp/measure"
)

// EBU Tech 3341, 2.9: a 1 kHz sine at −18 dBFS on both channels is at −18 LUFS.
func ExampleReporter() {
	const rateHz = 48000
	meter := measure.NewReporter(rateHz, 2)
	block := make([]dsp.Frame, rateHz/10)
	for b := range 50 {
		for i := range block {
			y := dsp.FromDB(-18) * math.Sin(2*math.Pi*1000*float64(b*len(block)+i)/rateHz)
			block[i] = dsp.Frame{y, y}
		}
		meter.Process(block)
	}
	r := meter.Report()
	fmt.Printf("%.0f s at %.1f LUFS, %.1f dBTP, correlation %.1f\n", r.DurationS, r.IntegratedLUFS, r.TruePeakDBTP, r.Correlation)
	band := r.ThirdOctaves[dsp.NearestThirdOctave(1000)]
	fmt.Printf("%s: %.1f dB\n", dsp.FormatHz(band.NominalHz), band.LevelDB)
	// Output:
	// 5 s at -18.0 LUFS, -18.0 dBTP, correlation 1.0
	// 1 kHz: -18.0 dB
}
