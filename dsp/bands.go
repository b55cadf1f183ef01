package dsp

import "math"

// ThirdOctaves is the number of third-octave bands from 20 Hz to 20 kHz.
const ThirdOctaves = 31

// ThirdOctaveHz is the exact mid-band frequency of the i-th third-octave band,
// i from 0 (20 Hz) to ThirdOctaves-1 (20 kHz); any other i continues the row.
//
//	f = 1000·10^((i−17)/10)
//
// Source: IEC 61260-1:2014, base-ten mid-band frequencies.
func ThirdOctaveHz(i int) float64 { return 1000 * math.Pow(10, float64(i-17)/10) }

// ThirdOctaveEdges are the lower and upper edge of the i-th third-octave band:
// its mid-band frequency times 10^(∓1/20). Source: IEC 61260-1:2014.
func ThirdOctaveEdges(i int) (loHz, hiHz float64) {
	mid := ThirdOctaveHz(i)
	return mid * math.Pow(10, -0.05), mid * math.Pow(10, 0.05)
}

// NominalHz is the rounded name of the i-th third-octave band, as printed on
// equipment: 20, 25, 31.5 … 16000, 20000, i from 0 to ThirdOctaves-1.
// Source: ISO 266:1997, preferred frequencies.
func NominalHz(i int) float64 {
	decade := [10]float64{20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160}
	return decade[i%10] * math.Pow(10, float64(i/10))
}

// NearestThirdOctave is the index of the band whose mid-band frequency is
// nearest to freqHz in ratio, limited to 0 … ThirdOctaves-1.
func NearestThirdOctave(freqHz float64) int {
	i := int(math.Round(10*math.Log10(freqHz/1000))) + 17
	return min(max(i, 0), ThirdOctaves-1)
}

// Octaves is the distance from a to b in octaves, positive where b is higher.
func Octaves(aHz, bHz float64) float64 { return math.Log2(bHz / aHz) }

// Cams is the ERB-rate of a frequency: the number of equivalent rectangular
// bandwidths of the ear below it.
//
//	Cam = 21.4·log10(4.37·f/1000 + 1)
//
// Source: Glasberg & Moore, Derivation of auditory filter shapes from
// notched-noise data, Hearing Research 47 (1990), eq. 4 (from memory).
func Cams(freqHz float64) float64 { return 21.4 * math.Log10(4.37*freqHz/1000+1) }

// ERBHz is the equivalent rectangular bandwidth of the ear's filter at freqHz.
// Source: Glasberg & Moore 1990, eq. 3 (from memory).
func ERBHz(freqHz float64) float64 { return 24.7 * (4.37*freqHz/1000 + 1) }
