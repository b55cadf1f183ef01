package measure

import (
	"errors"
	"fmt"
	"math"
	"math/bits"

	"strop/dsp"
	"strop/dsp/fourier"
)

// Decay is what is read off an impulse response, as ISO 3382-1:2009 defines it.
// All times count from the arrival of the direct sound. A time that the noise
// floor leaves no room for is NaN.
type Decay struct {
	EDTS    float64 // early decay time in s: six times that from 0 to −10 dB
	T20S    float64 // decay time in s, from −5 to −25 dB; wants a range of 35 dB
	T30S    float64 // from −5 to −35 dB; wants 45 dB
	C50DB   float64 // clarity: energy of the first 50 ms over that of the rest
	C80DB   float64 // the same for 80 ms
	D50     float64 // definition: share of the energy in the first 50 ms
	TsMS    float64 // centre time: the mean time of the energy
	RangeDB float64 // from the start of the decay to the noise floor
}

// OctaveDecay is the decay of one octave band.
type OctaveDecay struct {
	FreqHz float64 // exact mid-band frequency
	Decay
}

var (
	errSilent = errors.New("an impulse response of silence has no decay")
	errShort  = errors.New("the response does not decay far enough above its noise; record a longer or a louder one")
)

const (
	onsetDB  = 20   // the direct sound has arrived when the response is this near to its peak
	fewest   = 0.1  // share of the end that is taken for noise at first
	aboveDB  = 8    // a decay is looked at down to so far above the noise
	lateDB   = 25   // and its late part is so much of it
	rangeEDT = 20.0 // dB above the noise that a reading wants
	rangeT20 = 35.0
	rangeT30 = 45.0
)

// DecayOf measures an impulse response at rateHz over its whole bandwidth.
//
// The squared response is integrated backwards (Schroeder); the decay times are
// least-squares lines. Where noise overtakes the decay the integral is cut off;
// the mean noise is taken from the rest, and what was cut off is replaced by
// the energy of an exponential that goes on as the late decay did.
//
// Source: M. R. Schroeder, New method of measuring reverberation time, JASA 37
// (1965); A. Lundeby, T. E. Vigran, H. Bietz, M. Vorländer, Uncertainties of
// measurements in room acoustics, Acustica 81 (1995), for the search for the
// noise; ISO 3382-1:2009 for the readings (from memory).
func DecayOf(h []float64, rateHz float64) (Decay, error) {
	checkRate(rateHz)
	from, err := onset(h)
	if err != nil {
		return Decay{}, err
	}
	return decayFrom(h[from:], rateHz)
}

// OctaveDecays measures an impulse response in octave bands, 63 Hz to 16 kHz as
// far as the rate allows. The bands have no phase and fall from 0 to nothing
// within a third of an octave about their edges, where they are 3 dB down
// (IEC 61260-1:2014 base-ten mid-bands); the start is that of the whole
// response. A band that holds nothing, or only noise, has NaN in all its times.
func OctaveDecays(h []float64, rateHz float64) ([]OctaveDecay, error) {
	return octaveDecays(h, rateHz, -4, 4)
}

// OctaveDecayAt is that of OctaveDecays whose mid-band frequency is nearest to
// freqHz, measured alone.
func OctaveDecayAt(h []float64, rateHz, freqHz float64) (OctaveDecay, error) {
	k := int(math.Round(math.Log10(freqHz/1000) / 0.3))
	bands, err := octaveDecays(h, rateHz, k, k)
	switch {
	case err != nil:
		return OctaveDecay{}, err
	case len(bands) == 0:
		return OctaveDecay{}, fmt.Errorf("there is no octave band at %g Hz for a sample rate of %g Hz", freqHz, rateHz)
	}
	return bands[0], nil
}

// octaveDecays are the bands of numbers from to to; that at 1 kHz is number 0.
func octaveDecays(h []float64, rateHz float64, from, to int) ([]OctaveDecay, error) {
	checkRate(rateHz)
	start, err := onset(h)
	if err != nil {
		return nil, err
	}
	var bands []OctaveDecay
	split := newOctaves(h, rateHz)
	for k := from; k <= to; k++ {
		midHz := 1000 * math.Pow(10, 0.3*float64(k))
		if midHz*math.Sqrt2 > rateHz/2 {
			break
		}
		d, err := decayFrom(split.band(midHz)[start:len(h)], rateHz)
		if err != nil {
			nan := math.NaN()
			d = Decay{EDTS: nan, T20S: nan, T30S: nan, C50DB: nan, C80DB: nan, D50: nan, TsMS: nan}
		}
		bands = append(bands, OctaveDecay{midHz, d})
	}
	return bands, nil
}

// onset is the frame of the direct sound.
func onset(h []float64) (int, error) {
	peak := 0.0
	for _, x := range h {
		peak = max(peak, math.Abs(x))
	}
	if !(peak > 0) || math.IsInf(peak, 0) {
		return 0, errSilent
	}
	for i, x := range h {
		if math.Abs(x) >= peak*dsp.FromDB(-onsetDB) {
			return i, nil
		}
	}
	return 0, errSilent
}

func decayFrom(h []float64, rateHz float64) (Decay, error) {
	power := squares(h)
	f, err := findFloor(power, rateHz)
	if err != nil {
		return Decay{}, err
	}
	s := integrate(power[:f.cross], f.noise, f.tail)
	d := Decay{
		RangeDB: f.rangeDB,
		EDTS:    slopeTime(s, rateHz, 0, -10),
		T20S:    slopeTime(s, rateHz, -5, -25),
		T30S:    slopeTime(s, rateHz, -5, -35),
	}
	if d.RangeDB < rangeEDT {
		d.EDTS = math.NaN()
	}
	if d.RangeDB < rangeT20 {
		d.T20S = math.NaN()
	}
	if d.RangeDB < rangeT30 {
		d.T30S = math.NaN()
	}
	early := 1 - at(s, 0.05*rateHz)/s[0]
	d.D50, d.C50DB = early, dsp.PowerToDB(early/(1-early))
	early = 1 - at(s, 0.08*rateHz)/s[0]
	d.C80DB = dsp.PowerToDB(early / (1 - early))
	sum := f.tail * f.tailFrames
	for _, x := range s[1:] {
		sum += x
	}
	d.TsMS = 1000 * sum / s[0] / rateHz
	return d, nil
}

// squares is the power of h up to its last frame that is not 0.
func squares(h []float64) []float64 {
	n := len(h)
	for n > 0 && h[n-1] == 0 {
		n--
	}
	power := make([]float64, n)
	for i, x := range h[:n] {
		power[i] = x * x
	}
	return power
}

// integrate is Schroeder's backward integral, with what lies beyond its end.
func integrate(power []float64, noise, beyond float64) []float64 {
	s := make([]float64, len(power))
	for i := len(power) - 1; i >= 0; i-- {
		beyond += power[i] - noise
		s[i] = beyond
	}
	return s
}

func at(s []float64, frame float64) float64 {
	i := int(frame + 0.5)
	if i >= len(s) {
		return 0
	}
	return s[i]
}

// slopeTime is the time in which a line through the integral between two
// levels falls by 60 dB, in s; NaN where it does not fall so far.
func slopeTime(s []float64, rateHz, fromDB, toDB float64) float64 {
	var l line
	hi, lo := s[0]*math.Pow(10, fromDB/10), s[0]*math.Pow(10, toDB/10)
	i := 0
	for ; i < len(s) && s[i] >= lo; i++ {
		if s[i] <= hi {
			l.add(float64(i), dsp.PowerToDB(s[i]))
		}
	}
	slope, _ := l.fit()
	if i == len(s) || !(slope < 0) {
		return math.NaN()
	}
	return -60 / slope / rateHz
}

// line is a least-squares line in the making.
type line struct{ n, x, y, xx, xy float64 }

func (l *line) add(x, y float64) {
	l.n++
	l.x += x
	l.y += y
	l.xx += x * x
	l.xy += x * y
}

// fit is the slope and the value at 0; the slope is NaN for fewer than two
// points.
func (l *line) fit() (slope, start float64) {
	slope = (l.n*l.xy - l.x*l.y) / (l.n*l.xx - l.x*l.x)
	return slope, (l.y - slope*l.x) / l.n
}

// floor is where a decay ends.
type floor struct {
	noise      float64 // mean power of the noise
	cross      int     // frame at which the decay meets it
	tail       float64 // energy of the decay beyond
	tailFrames float64 // in which it falls to 1/e
	rangeDB    float64
}

// findFloor looks for the noise at the end of a decay, in a few rounds: a line
// through the late decay, the crossing with the noise, the noise beyond it.
func findFloor(power []float64, rateHz float64) (floor, error) {
	step := max(1, min(int(rateHz/100), len(power)/30))
	means := blockMeans(power, step)
	if len(means) < 20 {
		return floor{}, errShort
	}
	noise := mean(means[len(means)-max(1, int(fewest*float64(len(means)))):])
	var f floor
	for range 6 {
		slope, start := lateLine(means, noise)
		if !(slope < 0) {
			return floor{}, errShort
		}
		cross := (dsp.PowerToDB(noise) - start) / slope
		frames := -10 / math.Ln10 / slope * float64(step)
		f = floor{noise: noise, cross: min(int((cross+0.5)*float64(step)), len(power)), tailFrames: frames}
		f.tail = noise * frames
		from := min(int(cross-8/slope), len(means)-max(1, int(fewest*float64(len(means)))))
		noise = mean(means[max(from, 0):])
	}
	if f.cross < 2 {
		return floor{}, errShort
	}
	if slope, start := lateLine(means, noise); stillFalls(means, slope) {
		f.noise, f.cross = 0, len(power)
		noise = math.Pow(10, (start+slope*float64(len(means)))/10)
		f.tail = noise * f.tailFrames
	}
	f.rangeDB = dsp.PowerToDB(peakOf(means) / noise)
	return f, nil
}

// stillFalls reports whether the last blocks go on falling at slope dB a block:
// the response then stops on its way down, before it meets any noise.
func stillFalls(means []float64, slope float64) bool {
	half := max(1, int(fewest*float64(len(means))/2))
	end := len(means)
	fall := dsp.PowerToDB(mean(means[end-half:]) / mean(means[end-2*half:end-half]))
	return fall < slope*float64(half)/2
}

// lateLine is the line, in dB by blocks, through the last 25 dB of a decay that
// lie above the noise.
func lateLine(means []float64, noise float64) (slope, start float64) {
	first, last := 0, 0
	for i := range means {
		if means[i] > means[first] {
			first = i
		}
	}
	stop := noise * math.Pow(10, aboveDB/10.0)
	for last = first; last < len(means) && (means[last] > stop || last+1 < len(means) && means[last+1] > stop); last++ {
	}
	top := stop * math.Pow(10, lateDB/10.0)
	for i := last - 1; i > first; i-- {
		if means[i] > top && last-i >= 5 {
			first = i
			break
		}
	}
	var l line
	for i := first; i < last; i++ {
		l.add(float64(i), dsp.PowerToDB(means[i]))
	}
	return l.fit()
}

func blockMeans(power []float64, step int) []float64 {
	means := make([]float64, len(power)/step)
	for i := range means {
		means[i] = mean(power[i*step : (i+1)*step])
	}
	return means
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func peakOf(x []float64) float64 {
	most := 0.0
	for _, v := range x {
		most = max(most, v)
	}
	return most
}

// octaves is a transformed response, to take bands from.
type octaves struct {
	fft            *fourier.FFT
	re, im         []float64
	br, bi, signal []float64
	binHz          float64
}

func newOctaves(h []float64, rateHz float64) *octaves {
	n := 1 << bits.Len(uint(max(len(h)+len(h)/4, 8)-1)) // with room for the bands to ring in
	o := &octaves{fft: fourier.NewFFT(n), binHz: rateHz / float64(n), signal: make([]float64, n)}
	o.re, o.im, o.br, o.bi = make([]float64, n/2+1), make([]float64, n/2+1), make([]float64, n/2+1), make([]float64, n/2+1)
	copy(o.signal, h)
	o.fft.Forward(o.re, o.im, o.signal)
	return o
}

// band is the octave around midHz, valid until the next call.
func (o *octaves) band(midHz float64) []float64 {
	clear(o.br)
	clear(o.bi)
	reach := math.Exp2(2.0 / 3)
	for k := int(midHz / reach / o.binHz); k < min(int(midHz*reach/o.binHz)+2, len(o.re)); k++ {
		ratio := octaveGain(math.Log2(float64(k) * o.binHz / midHz))
		o.br[k], o.bi[k] = ratio*o.re[k], ratio*o.im[k]
	}
	o.fft.Inverse(o.signal, o.br, o.bi)
	return o.signal
}

// octaveGain is the gain of an octave band at a distance from its middle: 1,
// then a quarter of a cosine from a third of an octave off to two thirds.
func octaveGain(oct float64) float64 {
	x := (math.Abs(oct) - 1.0/3) * 3 // 0 to 1 over the edge
	return math.Cos(math.Pi / 2 * min(max(x, 0), 1))
}
