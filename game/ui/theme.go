package ui

import (
	"image/color"
	"math"
)

// Token names a colour by its task.
type Token uint8

const (
	Ink     Token = iota // text, thin lines
	SoftInk              // what matters less
	Ground               // behind everything
	Sheet                // what text and drawings lie on
	Rule                 // lines that only divide; never carries meaning
	Oxblood              // the accent: where the keyboard is, what went wrong
	Brass                // what can be touched
	Data1                // data, always with a marker, a dash or a label
	Data2
	Data3
	tokens
)

var tokenNames = [tokens]string{
	"ink", "soft ink", "ground", "sheet", "rule", "oxblood", "brass", "data 1", "data 2", "data 3",
}

func (t Token) String() string { return tokenNames[t] }

// Theme gives every token its colour.
type Theme [tokens]color.RGBA

// Day and Night are warm paper and dark leather. Data colours: M. Okabe and
// K. Ito, Color Universal Design, 2008 (blue, vermilion, bluish green).
var (
	Day = Theme{
		Ink: rgb(0x22201C), SoftInk: rgb(0x5B554B), Ground: rgb(0xF3EDE2), Sheet: rgb(0xFBF8F2),
		Rule: rgb(0xC9BEAB), Oxblood: rgb(0x8A2B23), Brass: rgb(0x775812),
		Data1: rgb(0x0072B2), Data2: rgb(0xD55E00), Data3: rgb(0x009E73),
	}
	Night = Theme{
		Ink: rgb(0xEFE6D8), SoftInk: rgb(0xB3A793), Ground: rgb(0x1B1613), Sheet: rgb(0x27201B),
		Rule: rgb(0x4A3F35), Oxblood: rgb(0xE58472), Brass: rgb(0xD9B45B),
		Data1: rgb(0x0072B2), Data2: rgb(0xD55E00), Data3: rgb(0x009E73),
	}
)

func rgb(hex uint32) color.RGBA {
	return color.RGBA{uint8(hex >> 16), uint8(hex >> 8), uint8(hex), 0xFF}
}

// Contrast is the contrast ratio of two opaque colours, 1 (none) to 21.
//
//	(L1 + 0.05) / (L2 + 0.05), L1 the lighter one's relative luminance
//
// Source: W3C, Web Content Accessibility Guidelines 2.2, 2023, "contrast ratio".
func Contrast(a, b color.RGBA) float64 {
	light, dark := luminance(a), luminance(b)
	if light < dark {
		light, dark = dark, light
	}
	return (light + 0.05) / (dark + 0.05)
}

// luminance is WCAG 2.2's "relative luminance", 0 (black) to 1 (white).
func luminance(c color.RGBA) float64 {
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

func linear(v uint8) float64 {
	s := float64(v) / 255
	if s <= 0.04045 {
		return s / 12.92
	}
	return math.Pow((s+0.055)/1.055, 2.4)
}
