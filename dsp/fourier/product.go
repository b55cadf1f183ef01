package fourier

// MulAdd adds the product of two spectra to a third, bin by bin:
//
//	y[k] += a[k]·b[k]
//
// Each is held as two arrays, real and imaginary parts. All have len(yr)
// elements or more.
func MulAdd(yr, yi, ar, ai, br, bi []float64) {
	n := len(yr)
	yi, ar, ai, br, bi = yi[:n], ar[:n], ai[:n], br[:n], bi[:n]
	done := 0
	if vectors && n >= 4 {
		done = n &^ 3
		mulAdd4(&yr[0], &yi[0], &ar[0], &ai[0], &br[0], &bi[0], done)
	}
	mulAdd(yr[done:], yi[done:], ar[done:], ai[done:], br[done:], bi[done:])
}

func mulAdd(yr, yi, ar, ai, br, bi []float64) {
	n := len(yr)
	yi, ar, ai, br, bi = yi[:n], ar[:n], ai[:n], br[:n], bi[:n]
	for k := range yr {
		yr[k] += ar[k]*br[k] - ai[k]*bi[k]
		yi[k] += ar[k]*bi[k] + ai[k]*br[k]
	}
}
