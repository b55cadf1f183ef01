package dsp

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// FromDB is the amplitude ratio of a level: 10^(db/20). -Inf gives 0.
func FromDB(db float64) float64 { return math.Pow(10, db/20) }

// ToDB is the level of an amplitude ratio: 20·log10|ratio|. 0 gives -Inf.
func ToDB(ratio float64) float64 { return 20 * math.Log10(math.Abs(ratio)) }

// PowerToDB is the level of a power ratio: 10·log10(power). 0 gives -Inf.
func PowerToDB(power float64) float64 { return 10 * math.Log10(power) }

// ParseHz reads a frequency as an engineer writes it: "800", "2.5k", "2k5",
// "2,5 kHz", "12.5 kHz", "63Hz". In "2k5" the k stands where the decimal
// point would. The error says what was not understood; a frequency is above
// 0 and at most 1 MHz.
func ParseHz(text string) (freqHz float64, err error) {
	bad := fmt.Errorf("%q is not a frequency; write it like 800, 2k5 or 2.5 kHz", text)
	t := strings.ToLower(strings.ReplaceAll(strings.TrimSpace(text), " ", ""))
	t = strings.ReplaceAll(strings.TrimSuffix(t, "hz"), ",", ".")
	whole, frac, kilo := strings.Cut(t, "k")
	factor := 1.0
	if kilo {
		factor = 1000
		if frac != "" {
			whole += "." + frac
		}
	}
	if strings.Trim(whole, "0123456789.") != "" {
		return 0, bad
	}
	v, convErr := strconv.ParseFloat(whole, 64)
	if convErr != nil || !(v > 0 && v*factor <= 1e6) {
		return 0, bad
	}
	return v * factor, nil
}

// FormatHz writes a frequency to three figures: "63 Hz", "2.5 kHz".
func FormatHz(freqHz float64) string {
	unit := " Hz"
	if freqHz >= 999.5 {
		freqHz, unit = freqHz/1000, " kHz"
	}
	digits := 2 - int(math.Floor(math.Log10(freqHz)))
	text := strconv.FormatFloat(freqHz, 'f', max(digits, 0), 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text + unit
}

// FormatDB writes a level with its sign and one decimal: "+6.0 dB", "−1.5 dB".
func FormatDB(db float64) string {
	text := strconv.FormatFloat(math.Abs(db), 'f', 1, 64)
	switch {
	case math.IsInf(db, 0), math.IsNaN(db):
		return strconv.FormatFloat(db, 'f', -1, 64) + " dB"
	case text == "0.0":
		return "0.0 dB"
	case db < 0:
		return "−" + text + " dB"
	}
	return "+" + text + " dB"
}
