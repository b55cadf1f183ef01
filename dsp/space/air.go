package space

import "math"

// AirDBPerM is what air of 20 °C and one atmosphere takes from a pure tone, in
// dB per metre.
//
// Source: ISO 9613-1:1993, eqs. 3 to 5 (from memory).
func AirDBPerM(freqHz, humidityPct float64) float64 {
	const (
		kelvin   = 293.15
		relative = 1.0 // to the reference of 293.15 K
		triple   = 273.16
	)
	water := humidityPct * math.Pow(10, -6.8346*math.Pow(triple/kelvin, 1.261)+4.6151)
	oxygen := 24 + 4.04e4*water*(0.02+water)/(0.391+water)
	nitrogen := 9 + 280*water
	f2 := freqHz * freqHz
	return 8.686 * f2 * (1.84e-11*math.Sqrt(relative) +
		0.01275*math.Exp(-2239.1/kelvin)/(oxygen+f2/oxygen) +
		0.1068*math.Exp(-3352/kelvin)/(nitrogen+f2/nitrogen))
}

// airDecayS is the decay time that air of 50 % humidity alone would allow.
func airDecayS(freqHz float64) float64 { return 60 / (AirDBPerM(freqHz, 50) * soundMPS) }
