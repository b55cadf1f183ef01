//go:build !amd64

package pitch

const vectors = false

func turns4(out, aPlusRe, aPlusIm, aMinusRe, aMinusIm, bPlusRe, bPlusIm, bMinusRe, bMinusIm *float64, n int) {
	panic("pitch: no vectors here")
}
