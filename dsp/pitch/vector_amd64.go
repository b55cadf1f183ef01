package pitch

import (
	"golang.org/x/sys/cpu"

	"strop/dsp"
)

// vectors says that four numbers at a time may be worked on. The results are
// those of the plain code, to the bit: no multiplication is fused with an
// addition.
var vectors = cpu.X86.HasAVX2

//go:noescape
func turns4(out, aPlusRe, aPlusIm, aMinusRe, aMinusIm, bPlusRe, bPlusIm, bMinusRe, bMinusIm *float64, n int)

//go:noescape
func leaps4(phases *float64, more, scale float64, hop, longer, mask, n int)

//go:noescape
func rises4(phases *float64, more float64, n int)

//go:noescape
func take4(plusRe, plusIm, minusRe, minusIm *float64, level *int32, re, im, mirrorRe, mirrorIm *float64, n int) (loudest int32)

//go:noescape
func turned4(re, im, mirrorRe, mirrorIm, turns, plusRe, plusIm, minusRe, minusIm *float64, n int)

//go:noescape
func seen4(l, r, window *float64, x *dsp.Frame, n int)

//go:noescape
func overlapped4(out *dsp.Frame, window *float64, scale float64, l, r *float64, n int)

//go:noescape
func medians4(out *float64, powers *[acrossTime]*float64, n int)

//go:noescape
func above4(above *int64, around, inTime *float64, n int)
