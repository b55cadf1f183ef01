package measure

import (
	"math"

	"strop/dsp"
)

// Burst is the test for the times of a compressor: a tone of 4 kHz that is
// quiet, then loud, then quiet again, in dB of its peak re full scale.
//
//	BeforeS, LoudS, AfterS  how long each part lasts; several times what is to be found
type Burst struct{ QuietDB, LoudDB, BeforeS, LoudS, AfterS float64 }

// UsualBurst steps from −40 to −4 dB and back: for attacks to 200 ms and
// releases to 1 s.
func UsualBurst() Burst { return Burst{-40, -4, 0.1, 1, 2} }

const burstHz = 4000

// GainTrack is the gain of a processor over time, half a period of the burst's
// tone after the other.
//
//	gain = Σyx/Σx²,  x in, y out
type GainTrack struct {
	rateHz float64
	burst  Burst
	in     []float64 // the burst
	gains  []float64 // ratio, by half period
}

// TrackGain sends a burst through p, on both channels, read on the left. The
// latency that p states is taken out; where another is known, or p states
// none, use Align and TrackRecorded. p is reset before and after.
func TrackGain(p dsp.Processor, rateHz float64, b Burst) GainTrack {
	checkRate(rateHz)
	p.Reset()
	defer p.Reset()
	late := dsp.DelayFrames(p)
	sent := b.Frames(rateHz)
	buf := make([]dsp.Frame, len(sent)+late)
	copy(buf, sent)
	p.Process(buf)
	return TrackRecorded(Left.Samples(buf[late:]), rateHz, b)
}

// Frames is the burst at rateHz, on both channels.
func (b Burst) Frames(rateHz float64) []dsp.Frame {
	at := b.edges(rateHz)
	buf := make([]dsp.Frame, at[2])
	fillTone(buf, rateHz, burstHz, dsp.FromDB(b.QuietDB), 0)
	fillTone(buf[at[0]:at[1]], rateHz, burstHz, dsp.FromDB(b.LoudDB), at[0])
	return buf
}

// edges are the frames where the burst gets loud, gets quiet and ends.
func (b Burst) edges(rateHz float64) [3]int {
	frames := func(seconds float64) int { return int(math.Round(seconds * rateHz)) }
	return [3]int{frames(b.BeforeS), frames(b.BeforeS + b.LoudS), frames(b.BeforeS + b.LoudS + b.AfterS)}
}

// TrackRecorded is the gain of whatever made recorded, one channel of what
// came back, from the frames of b: as long, and with no latency left in it.
func TrackRecorded(recorded []float64, rateHz float64, b Burst) GainTrack {
	t := GainTrack{rateHz: rateHz, burst: b, in: Left.Samples(b.Frames(rateHz))}
	t.gains = t.track(recorded)
	return t
}

// track is Σyx/Σx² of each half period.
func (t *GainTrack) track(y []float64) (gains []float64) {
	half := t.rateHz / burstHz / 2
	for start := 0.0; start+half <= float64(len(t.in)); start += half {
		xy, xx := 0.0, 0.0
		for i := int(start); i < int(start+half); i++ {
			xy += t.in[i] * y[i]
			xx += t.in[i] * t.in[i]
		}
		gains = append(gains, xy/xx)
	}
	return gains
}

// DB is the gain at seconds from the start of the burst.
func (t *GainTrack) DB(seconds float64) float64 {
	i := int(seconds * burstHz * 2)
	return dsp.ToDB(t.gains[min(max(i, 0), len(t.gains)-1)])
}

// Topology is how a detector goes from attack to release.
type Topology int

const (
	// Decoupled: p = max(x, r·p + (1−r)·x);  y = a·y + (1−a)·p
	Decoupled Topology = iota
	// Branching: y = k·y + (1−k)·x, k = a where x is above y, else r
	Branching
)

var topologyNames = [...]string{"decoupled", "branching"}

func (t Topology) String() string { return topologyNames[t] }

// TimesFit is the detector that moves most like a measured one.
//
//	AttackMS      time to 63 % of a step up in reduction
//	ReleaseMS     time in which a reduction falls to 37 %
//	ReleaseTauMS  time constant of the release stage alone: shorter than
//	              ReleaseMS in a decoupled detector, whose attack stage follows
//	RMSErrorDB    what remains of the measured gain: above a few tenths of a
//	              decibel it is no detector of this kind
//
// A single exponential drawn through the gain of a branching detector overstates
// its attack by half, for within each period of the tone it also releases. Here
// the whole detector is run on the tone.
type TimesFit struct {
	Topology                          Topology
	AttackMS, ReleaseMS, ReleaseTauMS float64
	RMSErrorDB                        float64
}

// FitTimes finds the topology and the times that explain t, for a compressor
// whose static curve is known. The static curve of a branching detector comes
// out flatter than it is set, so that the depth of the reduction and the
// threshold are found anew. Feedback, look-ahead, a level averaged over power
// and a release that hangs on the programme are none of these models: what is
// left over in RMSErrorDB tells of them. All of TimesFit is NaN for a curve that does not compress the burst.
//
// Source: D. Giannoulis, M. Massberg, J. D. Reiss, Digital dynamic range
// compressor design, JAES 60(6) (2012), eq. 7, 16 and 17 and the placement of
// the detector after the curve.
func FitTimes(t GainTrack, curve CurveFit) TimesFit {
	nan := math.NaN()
	if !(curve.Ratio != 1 && rampDB(t.burst.LoudDB-curve.ThresholdDB, curve.KneeDB) > 0) {
		return TimesFit{0, nan, nan, nan, nan}
	}
	best := fitTopology(t, curve, Decoupled)
	if other := fitTopology(t, curve, Branching); other.RMSErrorDB < best.RMSErrorDB {
		best = other
	}
	return best
}

// fitTopology fits the logarithms of attack and release, 1 − 1/ratio, the
// make-up gain and the threshold.
func fitTopology(t GainTrack, curve CurveFit, topology Topology) TimesFit {
	m := newDetectorModel(t, curve, topology)
	problem := leastSquares{
		residuals: m.residuals,
		count:     len(t.gains), soft: 1, enough: 1e-4,
		low:  []float64{math.Log(0.01), math.Log(1), 0, curve.MakeupDB - 6, curve.ThresholdDB - 3},
		high: []float64{math.Log(1000), math.Log(10000), 3, curve.MakeupDB + 6, curve.ThresholdDB + 3},
	}
	attackMS, releaseMS := t.firstGuess()
	slope := 1 - 1/curve.Ratio
	if topology == Branching {
		attackMS, slope = attackMS*0.6, slope*1.1
	}
	q, _ := problem.from([]float64{math.Log(attackMS), math.Log(releaseMS), slope, curve.MakeupDB, curve.ThresholdDB})
	r := make([]float64, len(t.gains))
	m.residuals(r, q)
	fit := TimesFit{topology, math.Exp(q[0]), math.Exp(q[1]), math.Exp(q[1]), rms(r)}
	if topology == Decoupled {
		fit.ReleaseMS = bothStagesMS(fit.AttackMS, fit.ReleaseTauMS)
	}
	return fit
}

// firstGuess is the times to 63 % of the way in gain after each step.
func (t *GainTrack) firstGuess() (attackMS, releaseMS float64) {
	b := t.burst
	loud, end := b.BeforeS+b.LoudS, b.BeforeS+b.LoudS+b.AfterS
	attackS := t.crossing(b.BeforeS, loud)
	releaseS := t.crossing(loud, end)
	return min(max(1000*attackS, 0.05), 500), min(max(1000*releaseS, 2), 5000)
}

// crossing is how long after fromS the gain has gone 63 % of its way to what
// it is just before toS.
func (t *GainTrack) crossing(fromS, toS float64) float64 {
	const period = 1.0 / burstHz
	start, end := t.DB(fromS-2*period), t.DB(toS-2*period)
	for s := fromS; s < toS; s += period / 2 {
		if math.Abs(t.DB(s)-end) < math.Abs(start-end)/math.E {
			return s - fromS
		}
	}
	return toS - fromS
}

// bothStagesMS is when a decoupled detector has fallen to 1/e, its stages of
// time constants a and tau in series: the root t of
//
//	(τ·e^(−t/τ) − a·e^(−t/a))/(τ − a) = 1/e
func bothStagesMS(a, tau float64) float64 {
	if math.Abs(tau/a-1) < 1e-6 {
		tau = a * (1 + 1e-6)
	}
	lo, hi := 0.0, 3*(a+tau)
	for range 60 {
		t := (lo + hi) / 2
		if (tau*math.Exp(-t/tau)-a*math.Exp(-t/a))/(tau-a) > 1/math.E {
			lo = t
		} else {
			hi = t
		}
	}
	return hi
}

// A detectorModel is a compressor with a known curve and unknown times.
type detectorModel struct {
	track    GainTrack
	topology Topology
	kneeDB   float64
	levels   []float64 // of each frame, in dB
	out      []float64
}

func newDetectorModel(t GainTrack, curve CurveFit, topology Topology) *detectorModel {
	m := &detectorModel{track: t, topology: topology, kneeDB: curve.KneeDB, levels: make([]float64, len(t.in)), out: make([]float64, len(t.in))}
	for i, x := range t.in {
		m.levels[i] = dsp.ToDB(x)
	}
	return m
}

// residuals are the model's gain less the measured one, in dB, by half period.
func (m *detectorModel) residuals(r, q []float64) {
	keep := func(logMS float64) float64 { return math.Exp(-1000 / (math.Exp(logMS) * m.track.rateHz)) }
	for i, level := range m.levels {
		m.out[i] = q[2] * rampDB(level-q[4], m.kneeDB)
	}
	attack, release := keep(q[0]), keep(q[1])
	if m.topology == Branching {
		m.branching(attack, release)
	} else {
		m.decoupled(attack, release)
	}
	for i, reductionDB := range m.out {
		m.out[i] = m.track.in[i] * math.Exp(-reductionDB*math.Ln10/20)
	}
	for k, gain := range m.track.track(m.out) {
		r[k] = q[3] + dsp.ToDB(gain/m.track.gains[k])
	}
}

// faint keeps a memory that dies away above the smallest normal number.
const faint = 1e-30

// branching smooths the reductions in out.
func (m *detectorModel) branching(attack, release float64) {
	y := 0.0
	for i, x := range m.out {
		keep := release
		if x > y {
			keep = attack
		}
		y = keep*y + (1-keep)*x + faint
		m.out[i] = y
	}
}

// decoupled smooths the reductions in out.
func (m *detectorModel) decoupled(attack, release float64) {
	peak, y := 0.0, 0.0
	for i, x := range m.out {
		peak = max(x, release*peak+(1-release)*x+faint)
		y = attack*y + (1-attack)*peak
		m.out[i] = y
	}
}
