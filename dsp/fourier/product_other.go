package fourier

// mulAddVectors does the part of MulAdd that it can do faster, from the first
// bin on, and returns how many bins that are.
func mulAddVectors(yr, yi, ar, ai, br, bi []float64) int { return 0 }
