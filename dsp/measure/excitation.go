package measure

import (
	"math"
	"math/cmplx"

	"strop/dsp"
	"strop/dsp/taps"
)

// earFilters are some of the ear's filters, applied to the spectrum of frames
// of one length.
type earFilters struct {
	stereoFFT
	cells  []cell
	bands  []earFilter
	powers []excitation // by cell
}

// A cell is a few bins of the spectrum that are summed before the ear's
// filters, an eighth of an equivalent rectangular bandwidth together or one bin.
type cell struct {
	from, to int     // bins
	weight   float64 // K-weighting, and what makes a frame's bins add up to its power
}

// An earFilter weights the cells from the first on.
type earFilter struct {
	first   int
	weights []float64
}

const cellsPerCam = 8

// newEarFilters are those at bandsHz, for frames of n at rateHz.
func newEarFilters(rateHz float64, n int, bandsHz []float64) earFilters {
	e := earFilters{stereoFFT: newStereoFFT(hann(n))}
	loHz, _ := earFilterEdges(bandsHz[0])
	_, hiHz := earFilterEdges(bandsHz[len(bandsHz)-1])
	binHz := rateHz / float64(n)
	last := min(int(hiHz/binHz), n/2-1)
	var centresHz []float64
	for from := max(int(loHz/binHz), 1); from <= last; {
		to := from + 1
		for to <= last && dsp.Cams((float64(to)+0.5)*binHz)-dsp.Cams((float64(from)-0.5)*binHz) < 1.0/cellsPerCam {
			to++
		}
		centre := float64(from+to-1) / 2 * binHz
		e.cells = append(e.cells, cell{from, to, kPower(centre) / (2 * float64(n) * sumSquares(e.window))})
		centresHz = append(centresHz, centre)
		from = to
	}
	for _, f := range bandsHz {
		e.bands = append(e.bands, newEarFilter(f, centresHz))
	}
	e.powers = make([]excitation, len(e.cells))
	return e
}

// earFilterEdges are where the weight of the filter at freqHz has fallen to
// roexFloor.
func earFilterEdges(freqHz float64) (loHz, hiHz float64) {
	const reach = 14.24 // root of (1 + x)·e^(−x) = roexFloor
	span := reach * dsp.ERBHz(freqHz) / 4
	return freqHz - span, freqHz + span
}

func newEarFilter(freqHz float64, cellsHz []float64) (f earFilter) {
	p := 4 / dsp.ERBHz(freqHz) // per Hz
	for i, cellHz := range cellsHz {
		x := p * math.Abs(cellHz-freqHz)
		w := (1 + x) * math.Exp(-x)
		if w < roexFloor {
			continue
		}
		if f.weights == nil {
			f.first = i
		}
		f.weights = append(f.weights, w)
	}
	return f
}

// kPower is the power response of the K-weighting.
func kPower(freqHz float64) float64 {
	const rateHz = 48000
	z := cmplx.Rect(1, -2*math.Pi*freqHz/rateHz)
	h := 1.0
	for _, s := range []secondOrder{kShelf(rateHz), kHighPass(rateHz)} {
		num := complex(s.b0, 0) + complex(s.b1, 0)*z + complex(s.b2, 0)*z*z
		den := 1 + complex(s.a1, 0)*z + complex(s.a2, 0)*z*z
		h *= cmplx.Abs(num / den)
	}
	return h * h
}

// excite fills out with the excitation of the frame of buf about its centre;
// what lies outside of buf is silence.
func (e *earFilters) excite(out []excitation, buf []dsp.Frame, centre int) {
	e.transform(buf, centre)
	e.sumCells()
	for b := range e.bands {
		f := &e.bands[b]
		out[b] = taps.Quads(f.weights, e.powers[f.first:])
	}
}

// sumCells is the power of each cell in each channel. Z = L + iR at bin k and
// its mirror image N − k give 2L = Z[k] + Z*[N−k] and 2iR = Z[k] − Z*[N−k]; the
// squares of those are twice the power of L and R in both bins.
func (e *earFilters) sumCells() {
	n := len(e.yr)
	for c := range e.cells {
		bins := &e.cells[c]
		var l, r, m, s float64
		for k := bins.from; k < bins.to; k++ {
			lr, li := e.yr[k]+e.yr[n-k], e.yi[k]-e.yi[n-k]
			rr, ri := e.yi[k]+e.yi[n-k], e.yr[n-k]-e.yr[k]
			l += lr*lr + li*li
			r += rr*rr + ri*ri
			m += (lr+rr)*(lr+rr) + (li+ri)*(li+ri)
			s += (lr-rr)*(lr-rr) + (li-ri)*(li-ri)
		}
		e.powers[c] = excitation{bins.weight * l, bins.weight * r, bins.weight / 4 * m, bins.weight / 4 * s}
	}
}
