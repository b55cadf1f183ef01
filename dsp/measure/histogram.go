package measure

import "math"

// energyHistogram counts windows by their loudness, in cells of 0.01 LU from
// the absolute gate up to 100 LU above it, and keeps the sum of the energies
// in each: what is louder still goes to the last cell.
type energyHistogram struct {
	n   []int
	sum []float64
}

const (
	cellsPerLU = 100
	cells      = 100 * cellsPerLU
)

func newEnergyHistogram() energyHistogram {
	return energyHistogram{make([]int, cells), make([]float64, cells)}
}

func (h *energyHistogram) reset() {
	clear(h.n)
	clear(h.sum)
}

// add counts a window of mean square z, unless it is at or below the absolute
// gate.
func (h *energyHistogram) add(z float64) {
	above := loudnessLUFS(z) - absoluteGateLUFS
	if above <= 0 {
		return
	}
	cell := cells - 1
	if above < cells/cellsPerLU {
		cell = int(above * cellsPerLU)
	}
	h.n[cell]++
	h.sum[cell] += z
}

// above is the mean energy and the number of the windows in cells whose own
// mean is over the gate.
func (h *energyHistogram) above(gate float64) (mean float64, n int) {
	sum := 0.0
	for i, s := range h.sum {
		if h.n[i] > 0 && !(s <= gate*float64(h.n[i])) {
			sum += s
			n += h.n[i]
		}
	}
	if n == 0 {
		return 0, 0
	}
	return sum / float64(n), n
}

// percentile is the energy below which lie percent of the n windows over the
// gate: that of the round((n−1)·percent/100 + 1)-th, as Tech 3342 counts.
func (h *energyHistogram) percentile(gate float64, n int, percent float64) float64 {
	rank := int(math.Round(float64(n-1)*percent/100 + 1))
	for i, s := range h.sum {
		if h.n[i] == 0 || s <= gate*float64(h.n[i]) {
			continue
		}
		if rank -= h.n[i]; rank <= 0 {
			return s / float64(h.n[i])
		}
	}
	return math.NaN()
}
