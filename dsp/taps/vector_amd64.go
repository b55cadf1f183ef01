package taps

import "golang.org/x/sys/cpu"

// vectors says that four numbers at a time may be worked on. No multiplication
// is fused with an addition.
var vectors = cpu.X86.HasAVX2

//go:noescape
func sum8(y *[2]float64, taps *float64, x *[2]float64, n int)

//go:noescape
func between8(y *[2]float64, taps, steps *float64, part float64, x *[2]float64, n int)

//go:noescape
func mirror8(dst *[2]float64, taps *float64, n int, x *[2]float64)

//go:noescape
func thin8(dst *[2]float64, taps *float64, n int, x *[2]float64)

//go:noescape
func quads4(y *[4]float64, weights *float64, x *[4]float64, n int)

//go:noescape
func walk8(dst *[2]float64, count int, rows *float64, n int, places float64, x *[2]float64, at, step float64)
