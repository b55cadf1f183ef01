//go:build !amd64

package fourier

const vectors = false

func mulAdd4(yr, yi, ar, ai, br, bi *float64, n int) { panic("fourier: no vectors here") }

func butterflies4(yr, yi, xr, xi *float64, w *[6]float64, m, s int) {
	panic("fourier: no vectors here")
}
