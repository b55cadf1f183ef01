package measure

import (
	"math"
	"slices"

	"strop/dsp"
)

// Steps are the levels at which a static curve is measured.
//
//	FromDB, ToDB  lowest and highest level of a sine's peak, re full scale
//	StepDB        between two; a knee is told from none where it is four wide
//	StepS         time that the processor is given at each; the last quarter is measured
//
// A tone of 997 Hz rises step by step, so that only the first waits for an
// attack from nothing. StepS must be several times the attack.
type Steps struct{ FromDB, ToDB, StepDB, StepS float64 }

// UsualSteps are −60 to 0 dB by 1 dB, 0.8 s each.
func UsualSteps() Steps { return Steps{-60, 0, 1, 0.8} }

// CurvePoint is a level in, and the level out that belongs to it when it lasts,
// both of a sine's peak.
type CurvePoint struct{ InDB, OutDB float64 }

// staticHz lies on no simple fraction of any usual rate, so that a tone takes
// every value. Source: AES17, ITU-R BS.1770-5.
const staticHz = 997

// StaticCurve measures what p makes of a steady tone on both channels, read on
// the left, at each level. p is reset before and after. OutDB is the tone
// alone, without what the processor adds to it; −Inf where nothing comes out.
func StaticCurve(p dsp.Processor, rateHz float64, s Steps) (points []CurvePoint) {
	checkRate(rateHz)
	p.Reset()
	defer p.Reset()
	buf := make([]dsp.Frame, int(s.StepS*rateHz))
	window := kaiserPoints(len(buf) / 4)
	x := make([]float64, len(window))
	at := 0
	for level := s.FromDB; level <= s.ToDB+1e-9; level += s.StepDB {
		fillTone(buf, rateHz, staticHz, dsp.FromDB(level), at)
		at += len(buf)
		p.Process(buf)
		for i, f := range buf[len(buf)-len(x):] {
			x[i] = f[0] * window[i]
		}
		points = append(points, CurvePoint{level, dsp.ToDB(toneRatio(x, staticHz/rateHz))})
	}
	return points
}

// fillTone overwrites buf with a sine on both channels, its phase that of
// frame start of an endless one.
func fillTone(buf []dsp.Frame, rateHz, freqHz, ratio float64, start int) {
	for i := range buf {
		_, turn := math.Modf(freqHz / rateHz * float64(start+i))
		y := ratio * math.Sin(2*math.Pi*turn)
		buf[i] = dsp.Frame{y, y}
	}
}

// CurveFit is the compressor whose static curve is nearest to a measured one.
//
//	y = x + MakeupDB                                        for 2(x−T) < −W
//	y = x + MakeupDB − (1 − 1/R)·(x − T + W/2)²/(2W)        inside the knee
//	y = x + MakeupDB − (1 − 1/R)·(x − T)                    above it
//
// RMSErrorDB is what remains of the measured curve: above a few tenths of a
// decibel it is no curve of this form. A curve that is straight to 0.02 dB has
// ratio 1, and NaN for threshold and knee.
//
// Source: D. Giannoulis, M. Massberg, J. D. Reiss, Digital dynamic range
// compressor design, JAES 60(6) (2012), eq. 4.
type CurveFit struct {
	ThresholdDB, Ratio, KneeDB, MakeupDB float64
	RMSErrorDB                           float64
}

const (
	curveSoftDB  = 0.1 // errors above this pull no harder at first
	finestSoftDB = 0.002
	straightDB   = 0.02 // reduction that is none
	widestKneeDB = 60
	steepest     = 1.5 // 1 − 1/R: above 1 the output falls as the input rises
)

// OutDB is the fitted curve at a level.
func (c CurveFit) OutDB(inDB float64) float64 {
	if c.Ratio == 1 {
		return inDB + c.MakeupDB
	}
	return inDB + c.MakeupDB - (1-1/c.Ratio)*rampDB(inDB-c.ThresholdDB, c.KneeDB)
}

// rampDB is 0 below the knee, a parabola across it, and overDB above.
func rampDB(overDB, kneeDB float64) float64 {
	switch {
	case 2*overDB <= -kneeDB:
		return 0
	case 2*overDB < kneeDB:
		return (overDB + kneeDB/2) * (overDB + kneeDB/2) / (2 * kneeDB)
	}
	return overDB
}

// FitCurve finds the threshold, the ratio, the knee and the make-up gain of a
// measured curve by robust least squares from several starts: once with a
// tenth of a decibel as what a bad point is, once with what is then usual.
// Points that are not finite are left out; with fewer than five others all of
// CurveFit is NaN.
//
// On a curve of this form, in steps of 1 dB to 20 dB above the threshold, it
// finds the threshold to 0.2 dB, the ratio to 3 % and the knee to 0.5 dB, also
// where a few points outside the knee are wrong. Where the output falls as the
// input rises the ratio is below 0.
func FitCurve(points []CurvePoint) CurveFit {
	points = finite(points)
	if len(points) < 5 {
		nan := math.NaN()
		return CurveFit{nan, nan, nan, nan, nan}
	}
	problem, starts := curveProblem(points)
	r := make([]float64, len(points))
	q, _ := problem.best(starts)
	problem.residuals(r, q)
	problem.soft = min(max(typical(r), finestSoftDB), curveSoftDB)
	q, _ = problem.best(append(starts, q))
	problem.residuals(r, q)
	fit := CurveFit{q[0], 1 / (1 - q[1]), q[2], q[3], rms(r)}
	if q[1]*rampDB(problem.high[0]-q[0], q[2]) < straightDB {
		fit.ThresholdDB, fit.Ratio, fit.KneeDB = math.NaN(), 1, math.NaN()
	}
	return fit
}

// curveProblem has the threshold, 1 − 1/ratio, the knee and the make-up gain
// as its parameters. It starts with thresholds all over the range of points,
// and with a narrow and a wide knee.
func curveProblem(points []CurvePoint) (problem leastSquares, starts [][]float64) {
	first, last := points[0].InDB, points[0].InDB
	for _, p := range points {
		first, last = min(first, p.InDB), max(last, p.InDB)
	}
	const thresholds = 6
	for i := range thresholds {
		threshold := first + (last-first)*(float64(i)+0.5)/thresholds
		for _, knee := range []float64{1, 10} {
			starts = append(starts, []float64{threshold, 0.6, knee, points[0].OutDB - points[0].InDB})
		}
	}
	return leastSquares{
		residuals: func(r, q []float64) {
			for i, p := range points {
				r[i] = p.InDB + q[3] - q[1]*rampDB(p.InDB-q[0], q[2]) - p.OutDB
			}
		},
		count: len(points), soft: curveSoftDB,
		low:  []float64{first, 0, 0, -200},
		high: []float64{last, steepest, widestKneeDB, 200},
	}, starts
}

func finite(points []CurvePoint) (kept []CurvePoint) {
	for _, p := range points {
		if d := p.OutDB - p.InDB; !math.IsNaN(d) && !math.IsInf(d, 0) {
			kept = append(kept, p)
		}
	}
	return kept
}

// typical is the standard deviation of residuals of which less than half are
// bad: 1.4826 times the median of their magnitudes, which that of Gaussian
// ones is. Source: P. J. Huber, Robust Statistics (1981) (from memory).
func typical(r []float64) float64 {
	sizes := make([]float64, len(r))
	for i, v := range r {
		sizes[i] = math.Abs(v)
	}
	slices.Sort(sizes)
	return 1.4826 * sizes[len(sizes)/2]
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}
