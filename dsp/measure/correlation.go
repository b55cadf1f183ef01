package measure

import (
	"math"

	"strop/dsp"
)

// CorrelationMeter finds how alike the two channels are.
//
//	correlation = ΣLR / √(ΣL²·ΣR²)
//
// 1: the same but for level, as mono is; 0: nothing in common; −1: the same
// but for level and polarity, lost in mono. 0 where either channel is silent.
type CorrelationMeter struct {
	ll, rr, lr float64
	count      int
}

var _ dsp.Processor = (*CorrelationMeter)(nil)

// Reset forgets everything.
func (m *CorrelationMeter) Reset() { *m = CorrelationMeter{} }

// Process reads buf and leaves it as it is.
func (m *CorrelationMeter) Process(buf []dsp.Frame) {
	ll, rr, lr := m.ll, m.rr, m.lr
	for _, f := range buf {
		ll += f[0] * f[0]
		rr += f[1] * f[1]
		lr += f[0] * f[1]
	}
	m.ll, m.rr, m.lr = ll, rr, lr
	m.count += len(buf)
}

// Result is the correlation since Reset, −1 to 1.
func (m *CorrelationMeter) Result() float64 {
	power := math.Sqrt(m.ll) * math.Sqrt(m.rr)
	if power == 0 {
		return 0
	}
	r := m.lr / power
	if math.Abs(r) > 1 { // by rounding
		return math.Copysign(1, r)
	}
	return r
}

// meanSquare is that of both channels together.
func (m *CorrelationMeter) meanSquare() float64 {
	return (m.ll + m.rr) / float64(2*max(m.count, 1))
}

// Correlation is that of a clip; see CorrelationMeter.
func Correlation(buf []dsp.Frame) float64 {
	var m CorrelationMeter
	m.Process(buf)
	return m.Result()
}

// RMSDBFS is the rms level of a clip, the powers of both channels averaged. A
// full-scale sine on both reads 0 dBFS, as in AES17 (from memory): 3.01 dB
// above the plain 20·log10 of the rms. -Inf for silence.
func RMSDBFS(buf []dsp.Frame) float64 {
	var m CorrelationMeter
	m.Process(buf)
	return dsp.PowerToDB(2 * m.meanSquare())
}

// CrestDB is the highest sample of either channel over the rms of both,
// 20·log10 of the plain ratio: 0 for a square wave, 3.01 for a sine, 3 dB
// more where only one channel sounds. NaN for silence.
func CrestDB(buf []dsp.Frame) float64 {
	var m CorrelationMeter
	m.Process(buf)
	return SamplePeakDBFS(buf) - dsp.PowerToDB(m.meanSquare())
}
