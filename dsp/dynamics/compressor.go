package dynamics

import "strop/dsp"

// Parameters that several processors share. Ranges that differ are declared
// where they are used.
var (
	threshold = dsp.Param{ID: "thresholdDB", Name: "threshold", Unit: "dB", Min: -60, Max: 0, Neutral: -20}
	ratio     = dsp.Param{ID: "ratio", Name: "ratio", Min: 1, Max: 20, Neutral: 1, Scale: dsp.Log}
	kneeWidth = dsp.Param{ID: "kneeDB", Name: "knee", Unit: "dB", Min: 0, Max: 24, Neutral: 6}
	attack    = dsp.Param{ID: "attackMS", Name: "attack", Unit: "ms", Min: 0.05, Max: 200, Neutral: 10, Scale: dsp.Log}
	release   = dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 10, Max: 2000, Neutral: 100, Scale: dsp.Log}
	lookahead = dsp.Param{ID: "lookaheadMS", Name: "look-ahead", Unit: "ms", Min: 0, Max: 10}
)

var (
	topology        = dsp.Param{ID: "topology", Name: "topology (0 feedback, 1 feed-forward)", Min: 0, Max: 1, Neutral: 1, Scale: dsp.Whole}
	programme       = dsp.Param{ID: "programmePct", Name: "programme-dependent release", Unit: "%", Min: 0, Max: 100}
	rms             = dsp.Param{ID: "rmsMS", Name: "RMS time", Unit: "ms", Min: 0, Max: 100}
	sidechainHz     = dsp.Param{ID: "sidechainHz", Name: "side-chain low cut", Unit: "Hz", Min: 0, Max: 1000}
	sidechainTiltDB = dsp.Param{ID: "sidechainTiltDB", Name: "side-chain tilt", Unit: "dB", Min: -12, Max: 12}
	link            = dsp.Param{ID: "linkPct", Name: "stereo link", Unit: "%", Min: 0, Max: 100, Neutral: 100}
	makeup          = dsp.Param{ID: "makeupDB", Name: "make-up gain", Unit: "dB", Min: 0, Max: 24}
	mix             = dsp.Param{ID: "mixPct", Name: "mix", Unit: "%", Min: 0, Max: 100, Neutral: 100}
)

// slowTimes is how many times longer than the release the memory of a
// programme-dependent release lasts.
const slowTimes = 10

// Compressor lowers what rises above a threshold.
//
//	thresholdDB      level above which it acts                       −60 to 0 dB
//	ratio            dB in per dB out above it                       1 to 20; 1 does nothing, to the bit
//	kneeDB           width of the bend about the threshold           0 to 24 dB
//	attackMS         time to 63 % of a step up in reduction          0.05 to 200 ms
//	releaseMS        time in which a reduction falls to 37 %         10 to 2000 ms
//	programmePct     part of a lasting reduction that is let go
//	                 ten times as slowly                             0 to 100 %
//	rmsMS            time over which power is averaged; 0 is peak    0 to 100 ms
//	topology         0 feedback, 1 feed-forward
//	sidechainHz      12 dB/oct low cut in the side-chain; 0 is none  0 to 1000 Hz
//	sidechainTiltDB  treble over bass in the side-chain about 1 kHz  −12 to 12 dB
//	lookaheadMS      time by which the gain leads the sound          0 to 10 ms
//	linkPct          how far the louder channel rules both           0 to 100 %
//	makeupDB         gain after compression                          0 to 24 dB; 0 is none
//	mixPct           compressed sound in the sum with untouched      0 to 100 %
//
// A level is that of a sine of the same peak, for peak and RMS. Attack and
// release are those of the detector fed by a step of level; averaging comes on
// top of them. Latency: the look-ahead.
//
// Feed-forward needs attackMS below releaseMS, and reads a steady sine as its
// static curve does, to 0.03 dB. Feedback settles on the same curve for a
// steady level and keeps both labels, but reads up to 2 dB less than the curve
// on a sine, whose level it follows within a cycle. Its side-chain hears the
// filtered sound less the reduction of the frame before.
//
// Source: D. Giannoulis, M. Massberg, J. D. Reiss, Digital dynamic range
// compressor design, JAES 60(6) (2012): curve eq. 4, smooth decoupled detector
// eq. 17 after the curve, in the logarithmic domain. Differs from it in: the
// release is set so that the whole detector keeps its label; programme
// dependence and the curve inside a feedback loop are our own.
var Compressor = dsp.Spec{
	ID:     "compressor",
	Name:   "compressor",
	Doc:    "Lowers what rises above a threshold.",
	Source: "Giannoulis, Massberg & Reiss, JAES 60(6), 2012",
	Params: []dsp.Param{threshold, ratio, kneeWidth, attack, release, programme, rms, topology,
		sidechainHz, sidechainTiltDB, lookahead, link, makeup, mix},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return design{
			rateHz:      rateHz,
			thresholdDB: s.Get(threshold), ratio: s.Get(ratio), kneeDB: s.Get(kneeWidth),
			attackMS: s.Get(attack), releaseMS: s.Get(release),
			slowPart: s.Get(programme) / 100, slowMS: slowTimes * s.Get(release),
			rmsMS:       s.Get(rms),
			sidechainHz: s.Get(sidechainHz), sidechainTiltDB: s.Get(sidechainTiltDB),
			lookaheadMS: s.Get(lookahead),
			link:        s.Get(link) / 100, makeupDB: s.Get(makeup), mix: s.Get(mix) / 100,
			feedback: s.Get(topology) == 0,
		}.build()
	},
}
