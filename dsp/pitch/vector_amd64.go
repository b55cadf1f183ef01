package pitch

import "golang.org/x/sys/cpu"

// vectors says that four numbers at a time may be worked on. The results are
// those of the plain code, to the bit: no multiplication is fused with an
// addition.
var vectors = cpu.X86.HasAVX2

//go:noescape
func turns4(out, aPlusRe, aPlusIm, aMinusRe, aMinusIm, bPlusRe, bPlusIm, bMinusRe, bMinusIm *float64, n int)
