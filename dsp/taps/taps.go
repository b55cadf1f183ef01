// Package taps weighs stereo frames and adds them up: what resamplers,
// fractional delays and meters spend their time on. Where the machine has
// vectors, four numbers are worked on at a time; the results are those of the
// plain code, to the bit, on any machine.
package taps

// Sum is Σ taps[i]·x[i], of as many frames as there are taps.
//
// Eight sums are kept, each of every eighth frame.
func Sum(taps []float64, x [][2]float64) (y [2]float64) {
	x = x[:len(taps)]
	n := len(taps) &^ 7
	if n > 0 {
		if vectors {
			sum8(&y, &taps[0], &x[0], n)
		} else {
			y = plainSum(taps[:n], x)
		}
	}
	l, r := y[0], y[1]
	for i := n; i < len(taps); i++ {
		l += taps[i] * x[i][0]
		r += taps[i] * x[i][1]
	}
	return [2]float64{l, r}
}

// plainSum is Sum of a multiple of eight.
func plainSum(taps []float64, x [][2]float64) [2]float64 {
	var l, r [8]float64
	for ; len(taps) >= 8; taps, x = taps[8:], x[8:] {
		t, f := (*[8]float64)(taps), (*[8][2]float64)(x)
		for k, w := range t {
			l[k] += w * f[k][0]
			r[k] += w * f[k][1]
		}
	}
	return [2]float64{together(&l), together(&r)}
}

// together adds eight sums as vectors do.
func together(s *[8]float64) float64 {
	return (s[0] + s[2] + (s[4] + s[6])) + (s[1] + s[3] + (s[5] + s[7]))
}

// Between is Σ (taps[i] + part·steps[i])·x[i]: the weights of a place between
// two rows of a table, part of the way from the one to the next. The number of
// taps is a multiple of eight; there are as many steps, and frames.
func Between(taps, steps []float64, part float64, x [][2]float64) (y [2]float64) {
	n := len(taps)
	steps, x = steps[:n], x[:n]
	switch {
	case n == 0:
	case vectors:
		between8(&y, &taps[0], &steps[0], part, &x[0], n)
	default:
		y = plainBetween(taps, steps, part, x)
	}
	return y
}

func plainBetween(taps, steps []float64, part float64, x [][2]float64) [2]float64 {
	var l, r [8]float64
	for ; len(taps) >= 8; taps, steps, x = taps[8:], steps[8:], x[8:] {
		t, s, f := (*[8]float64)(taps), (*[8]float64)(steps), (*[8][2]float64)(x)
		for k := range t {
			w := t[k] + part*s[k]
			l[k] += w * f[k][0]
			r[k] += w * f[k][1]
		}
	}
	return [2]float64{together(&l), together(&r)}
}

// Walk fills dst with sums of n frames of x under the weights of places step
// apart, the first of which is at:
//
//	dst[i] = Between(taps, steps, part, x[whole:whole+n]),  whole + (p + part)/places = at + i·step
//
// rows holds the taps of every place p of a frame, from 0 to places − 1, each
// followed by the steps to those of the next. n is a multiple of eight; at and
// step are not negative, and x has n frames or more from the last place on.
func Walk(dst [][2]float64, rows []float64, n, places int, x [][2]float64, at, step float64) {
	if len(dst) == 0 || n == 0 {
		clear(dst)
		return
	}
	if last := int(at+float64(len(dst))*step) + n; vectors && at >= 0 && step >= 0 && last <= len(x) && 2*n*places <= len(rows) {
		walk8(&dst[0], len(dst), &rows[0], n, float64(places), &x[0], at, step)
		return
	}
	for i := range dst {
		whole := int(at)
		place := (at - float64(whole)) * float64(places)
		p := int(place)
		row := rows[2*p*n:][:2*n]
		dst[i] = Between(row[:n], row[n:], place-float64(p), x[whole:][:n])
		at += step
	}
}

// Mirror fills dst with sums under weights that are the same to either side:
//
//	dst[i] = Σ taps[j]·(x[i·step+n−1−j] + x[i·step+n+j]),  n = len(taps)
//
// step is 1 or 2. x has (len(dst)−1)·step + 2n frames or more.
func Mirror(dst [][2]float64, taps []float64, x [][2]float64, step int) {
	n := len(taps)
	if n == 0 {
		clear(dst)
		return
	}
	if vectors {
		for ; len(dst) >= 8; dst = dst[8:] {
			window := x[:7*step+2*n]
			if step == 1 {
				mirror8(&dst[0], &taps[0], n, &window[0])
			} else {
				thin8(&dst[0], &taps[0], n, &window[0])
			}
			x = x[8*step:]
		}
	}
	plainMirror(dst, taps, x, step)
}

// plainMirror makes two at a time, which keeps the adders busy; each is summed
// in the same order alone or in company.
func plainMirror(dst [][2]float64, taps []float64, x [][2]float64, step int) {
	n := len(taps)
	for ; len(dst) >= 2; dst, x = dst[2:], x[2*step:] {
		left, right := x[:n+step], x[n:][:n+step]
		left2, right2 := left[step:][:n], right[step:][:n]
		left, right = left[:n], right[:n]
		var l, r, l2, r2 float64
		for j, tap := range taps {
			k := n - 1 - j
			a, b, a2, b2 := &left[k], &right[j], &left2[k], &right2[j]
			l += tap * (a[0] + b[0])
			r += tap * (a[1] + b[1])
			l2 += tap * (a2[0] + b2[0])
			r2 += tap * (a2[1] + b2[1])
		}
		dst[0], dst[1] = [2]float64{l, r}, [2]float64{l2, r2}
	}
	if len(dst) > 0 {
		left, right := x[:n], x[n:][:n]
		var l, r float64
		for j, tap := range taps {
			a, b := &left[n-1-j], &right[j]
			l += tap * (a[0] + b[0])
			r += tap * (a[1] + b[1])
		}
		dst[0] = [2]float64{l, r}
	}
}

// Quads is Σ weights[i]·x[i], each number of the four for itself. Four sums are
// kept, each of every fourth.
func Quads(weights []float64, x [][4]float64) (y [4]float64) {
	n := len(weights)
	x = x[:n]
	switch {
	case n == 0:
	case vectors:
		quads4(&y, &weights[0], &x[0], n)
	default:
		y = plainQuads(weights, x)
	}
	return y
}

func plainQuads(weights []float64, x [][4]float64) (y [4]float64) {
	var sums [4][4]float64
	for ; len(weights) >= 4; weights, x = weights[4:], x[4:] {
		for k := range sums {
			for c, v := range x[k] {
				sums[k][c] += weights[k] * v
			}
		}
	}
	for i, w := range weights {
		for c, v := range x[i] {
			sums[0][c] += w * v
		}
	}
	for c := range y {
		y[c] = sums[0][c] + sums[1][c] + (sums[2][c] + sums[3][c])
	}
	return y
}
