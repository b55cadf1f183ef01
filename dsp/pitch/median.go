package pitch

// exchange takes old out of a sorted row and puts another number in.
func exchange(sorted []float64, old, new float64) {
	i := 0
	for i < len(sorted)-1 && sorted[i] != old {
		i++
	}
	for ; i > 0 && sorted[i-1] > new; i-- {
		sorted[i] = sorted[i-1]
	}
	for ; i < len(sorted)-1 && sorted[i+1] < new; i++ {
		sorted[i] = sorted[i+1]
	}
	sorted[i] = new
}

// order fills sorted with a row, in order.
func order(sorted, row []float64) {
	for n, x := range row {
		i := n
		for ; i > 0 && sorted[i-1] > x; i-- {
			sorted[i] = sorted[i-1]
		}
		sorted[i] = x
	}
}

// mediansInTime fills out with the median of every bin along past.
func mediansInTime(out []float64, past *[acrossTime]spectrum) {
	done := 0
	if vectors && len(out) >= 4 {
		done = len(out) &^ 3
		var powers [acrossTime]*float64
		for i := range past {
			powers[i] = &past[i].power[0]
		}
		medians4(&out[0], &powers, done)
	}
	for k := done; k < len(out); k++ {
		var row [acrossTime]float64
		for i := range past {
			row[i] = past[i].power[k]
		}
		out[k] = medianOf9(&row)
	}
}

// medianOf9 puts pairs in order until the one in the middle is the median. Of
// the last pairs one number is kept.
//
// Source: N. Devillard, Fast median search: an ANSI C implementation (1998)
// (from memory).
func medianOf9(x *[9]float64) float64 {
	a, b, c, d, e, f, g, h, i := x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7], x[8]
	b, c = min(b, c), max(b, c)
	e, f = min(e, f), max(e, f)
	h, i = min(h, i), max(h, i)
	a, b = min(a, b), max(a, b)
	d, e = min(d, e), max(d, e)
	g, h = min(g, h), max(g, h)
	b, c = min(b, c), max(b, c)
	e, f = min(e, f), max(e, f)
	h, i = min(h, i), max(h, i)
	d = max(a, d)
	f = min(f, i)
	e, h = min(e, h), max(e, h)
	g = max(d, g)
	e = max(b, e)
	c = min(c, f)
	e = min(e, h)
	e, c = min(e, c), max(e, c)
	e = max(g, e)
	return min(e, c)
}
