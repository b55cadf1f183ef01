//go:build !amd64

package fourier

const vectors = false

func mulAdd4(yr, yi, ar, ai, br, bi *float64, n int) { panic("fourier: no vectors here") }

func firstPass4(yr, yi, xr, xi, turns *float64, m int) { panic("fourier: no vectors here") }

func pass4(yr, yi, xr, xi, turns *float64, m, s int) { panic("fourier: no vectors here") }
