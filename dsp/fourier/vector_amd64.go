package fourier

import "golang.org/x/sys/cpu"

// vectors says that four numbers at a time may be worked on. The results are
// those of the plain code, to the bit: no multiplication is fused with an
// addition.
var vectors = cpu.X86.HasAVX2

//go:noescape
func mulAdd4(yr, yi, ar, ai, br, bi *float64, n int)

//go:noescape
func firstPass4(yr, yi, xr, xi, turns *float64, m int)

//go:noescape
func pass4(yr, yi, xr, xi, turns *float64, m, s int)
