package measure

import (
	"math"
	"math/cmplx"

	"strop/dsp"
	"strop/dsp/fourier"
)

// earFilters are some of the ear's filters, applied to the spectrum of frames
// of one length.
type earFilters struct {
	fft            *fourier.Complex
	window         []float64
	cells          []cell
	bands          []earFilter
	xr, xi, yr, yi []float64
	powers         []excitation // by cell
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
	work := fourier.Apart(4, n)
	e := earFilters{fft: fourier.NewComplex(n), window: hann(n), xr: work[0], xi: work[1], yr: work[2], yi: work[3]}
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

// hann is a periodic Hann window.
func hann(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	return w
}

func sumSquares(x []float64) (sum float64) {
	for _, v := range x {
		sum += v * v
	}
	return sum
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
	e.cut(buf, centre-len(e.window)/2)
	e.fft.Transform(e.yr, e.yi, e.xr, e.xi)
	e.sumCells()
	for b := range e.bands {
		f := &e.bands[b]
		var l, r, m, s float64
		powers := e.powers[f.first:][:len(f.weights)]
		for i, w := range f.weights {
			p := &powers[i]
			l += w * p[Left]
			r += w * p[Right]
			m += w * p[Mid]
			s += w * p[Side]
		}
		out[b] = excitation{l, r, m, s}
	}
}

// cut windows the frame of buf that starts at start, left into the real and
// right into the imaginary part.
func (e *earFilters) cut(buf []dsp.Frame, start int) {
	from, to := max(0, -start), min(len(e.window), len(buf)-start)
	to = max(to, from)
	clear(e.xr[:from])
	clear(e.xi[:from])
	for i := from; i < to; i++ {
		w := e.window[i]
		f := &buf[start+i]
		e.xr[i], e.xi[i] = w*f[0], w*f[1]
	}
	clear(e.xr[to:])
	clear(e.xi[to:])
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

// A decimator keeps every factor-th frame of what lies low enough: a sinc
// under a Kaiser window, flat within 0.01 dB to 1.2 kHz, centred on the frame
// that is kept.
type decimator struct {
	factor int
	rateHz float64 // of what comes out
	taps   []float64
	out    []dsp.Frame
}

const (
	lowestDecimatedHz = 5500.0
	decimatorTapsS    = 0.0015 // length
)

func newDecimator(rateHz float64) decimator {
	d := decimator{factor: 1, taps: []float64{1}}
	for rateHz/float64(2*d.factor) >= lowestDecimatedHz {
		d.factor *= 2
	}
	d.rateHz = rateHz / float64(d.factor)
	if d.factor > 1 {
		d.taps = lowPass(2*int(decimatorTapsS*rateHz/2)+1, 0.5/float64(d.factor))
	}
	return d
}

// lowPass is a windowed sinc with its corner at cycles a frame.
func lowPass(n int, cycles float64) []float64 {
	const beta = 7
	taps, half, sum := make([]float64, n), float64(n)/2, 0.0
	for i := range taps {
		t := float64(i) - float64(n-1)/2
		taps[i] = besselI0(beta * math.Sqrt(1-t*t/(half*half)))
		if t != 0 {
			taps[i] *= math.Sin(2*math.Pi*cycles*t) / (2 * math.Pi * cycles * t)
		}
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

// process is valid until it is called again.
func (d *decimator) process(buf []dsp.Frame) []dsp.Frame {
	if d.factor == 1 {
		return buf
	}
	n := (len(buf) + d.factor - 1) / d.factor
	if cap(d.out) < n {
		d.out = make([]dsp.Frame, n)
	}
	d.out = d.out[:n]
	for i := range d.out {
		d.out[i] = d.at(buf, i*d.factor-len(d.taps)/2)
	}
	return d.out
}

// at is the sum of the taps over buf from start on.
func (d *decimator) at(buf []dsp.Frame, start int) dsp.Frame {
	from, to := max(0, -start), min(len(d.taps), len(buf)-start)
	taps, frames := d.taps[from:to], buf[start+from:start+to]
	frames = frames[:len(taps)]
	var l, r float64
	for i, w := range taps {
		l += w * frames[i][0]
		r += w * frames[i][1]
	}
	return dsp.Frame{l, r}
}
