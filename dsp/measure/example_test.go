package measure_test

import (
	"fmt"
	"math"
	"math/cmplx"

	"strop/dsp"
	"strop/dsp/eq"
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

// The same boost on a bass: where it sounds, and where it does not.
func ExampleAudible() {
	const rateHz = 48000
	bass := make([]dsp.Frame, 4*rateHz)
	for i := range bass {
		t := float64(i) / rateHz
		y := 0.25 * math.Sin(2*math.Pi*55*t) * math.Sin(math.Pi*t/4)
		bass[i] = dsp.Frame{y, y}
	}
	for _, freqHz := range []float64{55, 8000} {
		boost, err := eq.Peak.New(rateHz, dsp.Setting{"freqHz": freqHz, "gainDB": 6})
		if err != nil {
			fmt.Println(err)
			return
		}
		after := append([]dsp.Frame(nil), bass...)
		boost.Process(after)
		a := measure.Audible(bass, after, rateHz)
		fmt.Printf("+6 dB at %s changes the ear's input by %.0f dB\n", dsp.FormatHz(freqHz), a.DB)
	}
	// Output:
	// +6 dB at 55 Hz changes the ear's input by 6 dB
	// +6 dB at 8 kHz changes the ear's input by 0 dB
}

// What a sweep tells of x + 0.12x² + 0.08x³: of a sine of 1, x² leaves 0.06 of
// the second harmonic, x³ 0.02 of the third.
func ExampleSweep() {
	sweep, err := measure.NewSweep(48000, 20, 6000, 4)
	if err != nil {
		fmt.Println(err)
		return
	}
	recorded := measure.Left.Samples(sweep.Frames())
	for i, x := range recorded {
		recorded[i] = x + 0.12*x*x + 0.08*x*x*x
	}
	r := sweep.Response(recorded, 1)
	for order := 1; order <= 4; order++ {
		fmt.Printf("%d kHz: %.3f\n", order, cmplx.Abs(r.Harmonic(order, 1000)))
	}
	// Output:
	// 1 kHz: 1.060
	// 2 kHz: 0.060
	// 3 kHz: 0.020
	// 4 kHz: 0.000
}
