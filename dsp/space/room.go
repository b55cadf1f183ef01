package space

import (
	"math"

	"strop/dsp"
	"strop/dsp/fourier"
)

var (
	roomDecay  = dsp.Param{ID: "decayS", Name: "decay time", Unit: "s", Min: 0.2, Max: 2, Neutral: 0.5, Scale: dsp.Log}
	roomLength = dsp.Param{ID: "lengthM", Name: "length", Unit: "m", Min: 2, Max: 30, Neutral: 6, Scale: dsp.Log}
	roomBreath = dsp.Param{ID: "breadthM", Name: "breadth", Unit: "m", Min: 2, Max: 30, Neutral: 4.5, Scale: dsp.Log}
	roomHeight = dsp.Param{ID: "heightM", Name: "height", Unit: "m", Min: 2, Max: 12, Neutral: 2.7, Scale: dsp.Log}
)

// Room is the sound of a room with six walls.
//
//	lengthM, breadthM, heightM   of the room    2 to 30, 30, 12 m
//
// and the parameters of Hall, with a decay from 0.2 to 2 s. Latency: that of
// Hall.
//
// Two loudspeakers stand before two microphones that are 30 cm apart. What the
// walls return in the first 70 ms comes from image sources; from 30 ms on noise
// takes over at the density of the images, 4πc/V a second for a direct sound of
// 1 at 1 m. In each octave the walls absorb what Eyring's formula wants for the
// decay that is set, after the air, 20 °C and 50 % humid, has had its share. No
// octave can outlast the air: its decay is the shorter of the two, which above
// 8 kHz may be less than what Decays says.
//
// Source: J. B. Allen, D. A. Berkley, Image method for efficiently simulating
// small-room acoustics, JASA 65(4) (1979); C. F. Eyring, JASA 1 (1930); ISO
// 9613-1:1993. Differs from Allen & Berkley in: parts of a sample, absorption
// and air by octaves, noise after the first 70 ms.
var Room = reverbSpec(dsp.Spec{
	ID:     "room",
	Name:   "room",
	Doc:    "Adds the reverb of a room with six walls.",
	Source: "J. B. Allen, D. A. Berkley, JASA 65(4), 1979; C. F. Eyring, JASA 1, 1930; ISO 9613-1:1993",
	Params: []dsp.Param{roomDecay, bassParam, trebleParam, roomLength, roomBreath, roomHeight},
}, func(rateHz float64, s dsp.Setting) (*Response, error) {
	r := newRoom(s)
	return r.response(rateHz, uint64(s.Get(seedParam))), nil
})

// RoomDecays are the decay times that a setting of Room is built for.
func RoomDecays(s dsp.Setting) [Bands]float64 {
	decaysS := decaysOf(s, roomDecay)
	for b := range decaysS {
		decaysS[b] = min(decaysS[b], airShare*airDecayS(BandHz(b)))
	}
	return decaysS
}

const (
	airShare   = 0.98  // walls absorb something at least
	imagesS    = 0.07  // images count up to here
	takeoverS  = 0.03  // and noise from here on
	imageTaps  = 32    // of the sinc that places an image between samples
	spacingM   = 0.3   // of the microphones
	eyeLevelM  = 1.2   // of everything
	roomFromHz = 50.0  // below, images of one sign pile up, as pressure would in a sealed room
	cornerPart = 0.473 // where along a wall; no simple fraction, or images coincide
)

type point [3]float64

// room is a shoebox and what stands in it.
type room struct {
	size    point
	decaysS [Bands]float64
	sources [2]point
	mics    [2]point
}

func newRoom(s dsp.Setting) *room {
	r := &room{size: point{s.Get(roomLength), s.Get(roomBreath), s.Get(roomHeight)}, decaysS: RoomDecays(s)}
	x, y, z := cornerPart*r.size[0], cornerPart*r.size[1], min(eyeLevelM, 0.6*r.size[2])
	far := min(2, 0.37*r.size[0])
	for side := range 2 {
		across := float64(2*side - 1)
		r.mics[side] = point{x + far/2, y + across*spacingM/2, z}
		r.sources[side] = point{x - far/2, y + across*min(1, 0.3*r.size[1]), z * 1.1}
	}
	return r
}

func (r *room) volume() float64 { return r.size[0] * r.size[1] * r.size[2] }

func (r *room) surface() float64 {
	return 2 * (r.size[0]*r.size[1] + r.size[1]*r.size[2] + r.size[2]*r.size[0])
}

// reflected is the ratio that a wall returns in a band.
func (r *room) reflected(b int) float64 {
	perS := 6*math.Ln10/r.decaysS[b] - 6*math.Ln10/airDecayS(BandHz(b))
	return math.Exp(-perS * 2 * r.volume() / (soundMPS * r.surface()))
}

func (r *room) response(rateHz float64, seed uint64) *Response {
	t := tail{
		rateHz: rateHz, decaysS: r.decaysS, startS: evenly(takeoverS), riseS: imagesS - takeoverS,
		levels: evenly(math.Sqrt(4 * math.Pi * soundMPS / (r.volume() * rateHz))),
	}
	return fourPaths(0x400<<8+seed, func(in, out int, seed uint64) []float64 {
		return t.path(seed, r.images(rateHz, r.sources[in], r.mics[out]))
	})
}

// images is what reaches a microphone from the images of a source, from the
// arrival of its direct sound on, which is left out.
func (r *room) images(rateHz float64, source, mic point) []float64 {
	split := newSplit(rateHz, int(imagesS*rateHz)+imageTaps)
	var walls [Bands]float64
	for b := range walls {
		walls[b] = r.reflected(b)
	}
	direct, farthest := distance(source, mic), imagesS*soundMPS
	var count [3]int
	for axis := range count {
		count[axis] = int((direct+farthest)/(2*r.size[axis])) + 1
	}
	var at [3]imageAxis
	for at[0] = range axisImages(count[0], r.size[0], source[0]) {
		for at[1] = range axisImages(count[1], r.size[1], source[1]) {
			for at[2] = range axisImages(count[2], r.size[2], source[2]) {
				bounces := at[0].bounces + at[1].bounces + at[2].bounces
				far := distance(point{at[0].x, at[1].x, at[2].x}, mic)
				if bounces == 0 || far-direct >= farthest {
					continue
				}
				split.add(far, direct, bounces, &walls)
			}
		}
	}
	return split.sum()
}

// imageAxis is an image along one axis.
type imageAxis struct {
	x       float64
	bounces int
}

// axisImages are the images of x in two walls that are size apart.
func axisImages(count int, size, x float64) func(func(imageAxis) bool) {
	return func(yield func(imageAxis) bool) {
		for n := -count; n <= count; n++ {
			shift := 2 * float64(n) * size
			if !yield(imageAxis{shift + x, max(2*n, -2*n)}) || !yield(imageAxis{shift - x, max(2*n-1, 1-2*n)}) {
				return
			}
		}
	}
}

func distance(a, b point) float64 {
	return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
}

// split gathers images by octave bands.
type split struct {
	rateHz float64
	n      int
	air    [Bands]float64 // dB per metre
	bands  [Bands][]float64
}

func newSplit(rateHz float64, frames int) *split {
	s := &split{rateHz: rateHz, n: 1}
	for s.n < 2*frames {
		s.n *= 2
	}
	for b := range s.bands {
		s.bands[b], s.air[b] = make([]float64, s.n), AirDBPerM(BandHz(b), 50)
	}
	return s
}

// add puts an image that is farM away, against a direct sound of directM, after
// so many bounces. The last images fade, as the noise comes.
func (s *split) add(farM, directM float64, bounces int, walls *[Bands]float64) {
	late := (farM - directM) / soundMPS
	whole, part := math.Modf(late * s.rateHz)
	taps := imageSinc(part)
	fade := math.Cos(math.Pi / 2 * unit((late-takeoverS)/(imagesS-takeoverS)))
	for b := range s.bands {
		ratio := fade / farM * math.Pow(walls[b], float64(bounces)) * dsp.FromDB(-s.air[b]*farM)
		for i, tap := range taps {
			if n := int(whole) + i - imageTaps/2 + 1; n >= 0 {
				s.bands[b][n] += ratio * tap
			}
		}
	}
}

// imageSinc is a sinc with a raised-cosine window, late by part of a sample.
func imageSinc(part float64) (taps [imageTaps]float64) {
	for i := range taps {
		x := float64(i-imageTaps/2+1) - part
		taps[i] = 0.5 + 0.5*math.Cos(2*math.Pi*x/(imageTaps+2))
		if x != 0 {
			taps[i] *= math.Sin(math.Pi*x) / (math.Pi * x)
		}
	}
	return taps
}

// sum is the bands together, each of its own frequencies.
func (s *split) sum() []float64 {
	fft, re, im := fourier.NewFFT(s.n), make([]float64, s.n/2+1), make([]float64, s.n/2+1)
	all, alli := make([]float64, s.n/2+1), make([]float64, s.n/2+1)
	for b := range s.bands {
		fft.Forward(re, im, s.bands[b])
		binHz := s.rateHz / float64(s.n)
		from, _ := bandBins(b, binHz, s.n/2)
		for i, share := range bandShares(binHz, s.n/2)[b] {
			k := from + i
			g := share * sine2(unit(float64(k)*binHz/roomFromHz))
			all[k] += g * re[k]
			alli[k] += g * im[k]
		}
	}
	fft.Inverse(s.bands[0], all, alli)
	return s.bands[0][:s.n/2]
}
