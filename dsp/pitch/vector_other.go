//go:build !amd64

package pitch

import "strop/dsp"

const vectors = false

func turns4(out, aPlusRe, aPlusIm, aMinusRe, aMinusIm, bPlusRe, bPlusIm, bMinusRe, bMinusIm *float64, n int) {
	panic("pitch: no vectors here")
}

func leaps4(phases *float64, more, scale float64, hop, longer, mask, n int) {
	panic("pitch: no vectors here")
}

func rises4(phases *float64, more float64, n int) {
	panic("pitch: no vectors here")
}

func take4(plusRe, plusIm, minusRe, minusIm *float64, level *int32, re, im, mirrorRe, mirrorIm *float64, n int) (loudest int32) {
	panic("pitch: no vectors here")
}

func turned4(re, im, mirrorRe, mirrorIm, turns, plusRe, plusIm, minusRe, minusIm *float64, n int) {
	panic("pitch: no vectors here")
}

func seen4(l, r, window *float64, x *dsp.Frame, n int) {
	panic("pitch: no vectors here")
}

func overlapped4(out *dsp.Frame, window *float64, scale float64, l, r *float64, n int) {
	panic("pitch: no vectors here")
}

func medians4(out *float64, powers *[acrossTime]*float64, n int) {
	panic("pitch: no vectors here")
}

func above4(above *int64, around, inTime *float64, n int) {
	panic("pitch: no vectors here")
}
