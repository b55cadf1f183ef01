package measure

import (
	"fmt"
	"math"
	"strconv"

	"strop/dsp"
)

// Report is everything that is measured of a piece of sound. As JSON a level
// that is not finite, that of silence, is null.
type Report struct {
	IntegratedLUFS   Level       `json:"integratedLUFS"`
	MaxMomentaryLUFS Level       `json:"maxMomentaryLUFS"`
	MaxShortTermLUFS Level       `json:"maxShortTermLUFS"`
	LoudnessRangeLU  Level       `json:"loudnessRangeLU"`
	TruePeakDBTP     Level       `json:"truePeakDBTP"`
	SamplePeakDBFS   Level       `json:"samplePeakDBFS"`
	Correlation      Level       `json:"correlation"` // −1 to 1, 0 where a channel is silent
	DurationS        float64     `json:"durationS"`
	RateHz           float64     `json:"rateHz"`
	Channels         int         `json:"channels"`
	ThirdOctaves     []BandLevel `json:"thirdOctaves"` // 20 Hz to 20 kHz; see ThirdOctaveMeter
}

// BandLevel is the level of a third-octave band.
type BandLevel struct {
	NominalHz float64 `json:"nominalHz"` // what the band is called
	FreqHz    float64 `json:"freqHz"`    // where its middle is
	LevelDB   Level   `json:"levelDB"`
}

// Level is a reading that may be infinite or not a number, which JSON cannot
// say.
type Level float64

// MarshalJSON writes four decimals, which is finer than any meter, or null.
func (l Level) MarshalJSON() ([]byte, error) {
	v := float64(l)
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return []byte("null"), nil
	}
	v = math.Round(v*1e4)/1e4 + 0 // no −0
	return strconv.AppendFloat(nil, v, 'f', -1, 64), nil
}

// Reporter measures everything as it comes, in memory that does not grow with
// the length of what it is given.
type Reporter struct {
	rateHz      float64
	channels    int
	count       int
	loudness    *LoudnessMeter
	peak        *TruePeakMeter
	thirds      *ThirdOctaveMeter
	correlation CorrelationMeter
	mono        [512]dsp.Frame // the left channel on both
}

var _ dsp.Processor = (*Reporter)(nil)

// NewReporter is a meter for frames at rateHz. With 1 channel only the left
// of a frame counts, and is taken for the right too in all but loudness, so
// that a mono file has a correlation of 1. It panics if channels is not 1 or
// 2, or the rate is outside dsp.MinRateHz to dsp.MaxRateHz; CheckFormat tells
// beforehand.
func NewReporter(rateHz float64, channels int) *Reporter {
	return &Reporter{
		rateHz:   rateHz,
		channels: channels,
		loudness: NewLoudnessMeter(rateHz, channels),
		peak:     NewTruePeakMeter(rateHz),
		thirds:   NewThirdOctaveMeter(rateHz),
	}
}

// CheckFormat reports why no meter can be made for a rate and a number of
// channels, nil if one can.
func CheckFormat(rateHz float64, channels int) error {
	if channels != 1 && channels != 2 {
		return fmt.Errorf("%d channels cannot be measured; make it mono or stereo", channels)
	}
	return rateError(rateHz)
}

// Reset forgets everything.
func (r *Reporter) Reset() {
	r.count = 0
	r.loudness.Reset()
	r.peak.Reset()
	r.thirds.Reset()
	r.correlation.Reset()
}

// Process reads buf and leaves it as it is.
func (r *Reporter) Process(buf []dsp.Frame) {
	r.count += len(buf)
	if r.channels == 2 {
		r.read(buf)
		return
	}
	for len(buf) > 0 {
		n := min(len(buf), len(r.mono))
		for i, f := range buf[:n] {
			r.mono[i] = dsp.Frame{f[0], f[0]}
		}
		r.read(r.mono[:n])
		buf = buf[n:]
	}
}

func (r *Reporter) read(buf []dsp.Frame) {
	r.loudness.Process(buf)
	r.peak.Process(buf)
	r.thirds.Process(buf)
	r.correlation.Process(buf)
}

// Report is what has been measured since Reset. More may follow.
func (r *Reporter) Report() Report {
	loudness := r.loudness.Result()
	truePeakDBTP, samplePeakDBFS := r.peak.Result()
	report := Report{
		IntegratedLUFS:   Level(loudness.IntegratedLUFS),
		MaxMomentaryLUFS: Level(loudness.MaxMomentaryLUFS),
		MaxShortTermLUFS: Level(loudness.MaxShortTermLUFS),
		LoudnessRangeLU:  Level(loudness.RangeLU),
		TruePeakDBTP:     Level(truePeakDBTP),
		SamplePeakDBFS:   Level(samplePeakDBFS),
		Correlation:      Level(r.correlation.Result()),
		DurationS:        float64(r.count) / r.rateHz,
		RateHz:           r.rateHz,
		Channels:         r.channels,
	}
	for i, db := range r.thirds.Result() {
		report.ThirdOctaves = append(report.ThirdOctaves, BandLevel{dsp.NominalHz(i), dsp.ThirdOctaveHz(i), Level(db)})
	}
	return report
}
