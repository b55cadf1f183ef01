package fault

import (
	"fmt"
	"math"
	"math/rand/v2"

	"strop/dsp"
)

var (
	micDistance = dsp.Param{ID: "distanceM", Name: "distance", Unit: "m", Min: 0, Max: 8, Neutral: 0}
	micVolume   = dsp.Param{ID: "volumeM3", Name: "volume of the room", Unit: "m³", Min: 20, Max: 2000, Neutral: 60, Scale: dsp.Log}
	micDecay    = dsp.Param{ID: "decayS", Name: "decay time", Unit: "s", Min: 0.2, Max: 2, Neutral: 0.5, Scale: dsp.Log}
	micCardioid = dsp.Param{ID: "cardioid", Name: "cardioid microphone", Min: 0, Max: 1, Neutral: 1, Scale: dsp.Whole}
	micTreble   = dsp.Param{ID: "trebleDB", Name: "treble loss", Unit: "dB", Min: 0, Max: 3, Neutral: 1}
)

const (
	micBlock     = 512
	micCloseM    = 0.15 // where a microphone for a voice stands: nothing of its bass is lost there
	micTrebleHz  = 8000
	micEndDB     = 70   // a tail goes on down to here
	micHeight    = 0.55 // of the room, where source and microphone are
	micAside     = 0.43 // of its breadth
	micFarthest  = 0.9  // of its length
	micDullHz    = 6000 // from where the tail falls, 6 dB per octave
	micImages    = 2    // bounces of an early reflection, at most
	criticalUnit = 0.057
)

// Distance is the sound of a microphone that stands too far off: the room comes
// up, the bass of close speaking and some treble are lost.
//
//	distanceM  of the microphone from the source            0 to 8 m, 0.9 of the length of
//	                                                        the room at most; 0 is as it was
//	volumeM3   of the room                                  20 to 2000 m³
//	decayS     of its reverb                                0.2 to 2 s
//	cardioid   1 is a cardioid, 0 hears all around alike    0 or 1
//	trebleDB   loss at 8 kHz, from 1 m on                   0 to 3 dB
//	seed       draws the tail                               0 to 1048576
//
// The direct sound keeps its level, as if the gain had been turned up. The
// energy of the room against it is that of diffuse sound:
//
//	direct over reverberant = 20·log10(dc/distance) dB,  dc = 0.057·√(Q·V/T) m
//
// with Q = 3 for a cardioid, 1 else: DirectRatioDB. It comes as the reflections
// of up to two bounces in a room of 1.6 : 1.25 : 1 and as a tail of noise that
// decays at the same rate at all frequencies, both channels alike: one
// microphone. A cardioid has lost bass against one at 15 cm, as in a spherical
// wave: (s + c/2d)/(s + c/2·0.15). Latency: 512 frames; at 0 m the input comes
// out, to the bit.
// Source: H. Kuttruff, Room Acoustics, for the critical distance (from memory);
// J. B. Allen, D. A. Berkley, JASA 65(4) (1979), for the reflections; C. F.
// Eyring, JASA 1 (1930), for what walls absorb. The treble loss and the dull
// tail: common practice, no source.
var Distance = dsp.Spec{
	ID:     "distance",
	Name:   "distant microphone",
	Doc:    "Moves the microphone away from the source: more room, less bass and treble.",
	Source: "H. Kuttruff, Room Acoustics; J. B. Allen, D. A. Berkley, JASA 65(4), 1979; C. F. Eyring, JASA 1, 1930",
	Params: []dsp.Param{micDistance, micVolume, micDecay, micCardioid, micTreble, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		farM := s.Get(micDistance)
		if farM == 0 {
			return &distance{convolution: newConvolution(nil, micBlock)}, nil
		}
		r := newMicRoom(s)
		if most := micFarthest * r.size[0]; farM > most {
			return nil, fmt.Errorf("a distance of %g m does not fit into a room of %g m³; stay within %.1f m", farM, s.Get(micVolume), most)
		}
		return newDistance(rateHz, s, r), nil
	},
}

// DirectRatioDB is the level of the direct sound over that of the room, for a
// setting of Distance: +Inf at 0 m.
func DirectRatioDB(s dsp.Setting) float64 {
	return dsp.ToDB(criticalUnit * math.Sqrt((1+2*s.Get(micCardioid))*s.Get(micVolume)/s.Get(micDecay)) / s.Get(micDistance))
}

type distance struct {
	*convolution
	sections []section
}

var (
	_ dsp.Processor = (*distance)(nil)
	_ dsp.Delayer   = (*distance)(nil)
)

func newDistance(rateHz float64, s dsp.Setting, r micRoom) *distance {
	farM := s.Get(micDistance)
	d := &distance{}
	if s.Get(micCardioid) == 1 && farM > micCloseM {
		d.sections = append(d.sections, nearness(rateHz, farM))
	}
	if db := s.Get(micTreble) * min(1, farM); db > 0 {
		d.sections = append(d.sections, falling(rateHz, micTrebleHz, db))
	}
	h := r.response(rateHz, seedOf(s))
	// The ratio is that of what comes out.
	ratio := dsp.FromDB(-DirectRatioDB(s)) * math.Sqrt(d.energy([]float64{1}, int(0.2*rateHz))/d.energy(h, 0))
	for i := range h {
		h[i] *= ratio
	}
	d.convolution = newConvolution(h, micBlock)
	return d
}

// nearness is what a cardioid loses of the bass from micCloseM to farM.
func nearness(rateHz, farM float64) section {
	f := poleZero(rateHz, soundMPS/(4*math.Pi*micCloseM), soundMPS/(4*math.Pi*farM))
	f.b0 = (1 - f.a1) / (1 - f.b1/f.b0) // gain 1 at half the rate
	f.b1 = -f.b0 * math.Exp(-soundMPS/(2*farM)/rateHz)
	return f
}

// falling is a shelf of first order that has lost db at freqHz and twice that
// at half the rate, by the bilinear transform.
func falling(rateHz, freqHz, db float64) section {
	middle, ratio := math.Tan(math.Pi*min(freqHz/rateHz, 0.45)), dsp.FromDB(db)
	pole, zero := ratio/middle, 1/(ratio*middle) // times of s
	return section{b0: (1 + zero) / (1 + pole), b1: (1 - zero) / (1 + pole), a1: (1 - pole) / (1 + pole)}
}

// energy is that of h, and of so much silence after it, through the sections.
func (d *distance) energy(h []float64, more int) (sum float64) {
	buf := make([]dsp.Frame, len(h)+more)
	for i, v := range h {
		buf[i] = dsp.Frame{v, v}
	}
	d.filter(buf)
	for _, f := range buf {
		sum += f[0] * f[0]
	}
	for i := range d.sections {
		d.sections[i].reset()
	}
	return sum
}

func (d *distance) filter(buf []dsp.Frame) {
	for i := range d.sections {
		d.sections[i].process(buf)
	}
}

// DelayFrames is a block.
func (d *distance) DelayFrames() int { return d.block }

// Reset forgets what it heard.
func (d *distance) Reset() {
	d.reset()
	for i := range d.sections {
		d.sections[i].reset()
	}
}

// Process moves away from buf, in place.
func (d *distance) Process(buf []dsp.Frame) {
	d.process(buf)
	d.filter(buf)
}

// micRoom is a shoebox with a source and a microphone, which looks at it along
// the length.
type micRoom struct {
	size     [3]float64
	farM     float64
	decayS   float64
	cardioid bool
}

func newMicRoom(s dsp.Setting) micRoom {
	height := math.Cbrt(s.Get(micVolume) / (1.6 * 1.25))
	return micRoom{[3]float64{1.6 * height, 1.25 * height, height}, s.Get(micDistance), s.Get(micDecay), s.Get(micCardioid) == 1}
}

// response is what the room adds to the direct sound, of any level: the early
// reflections, and from the mean free path on the tail, which has the energy of
// diffuse sound from there.
func (r *micRoom) response(rateHz float64, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 0xd15))
	volume, surface := r.size[0]*r.size[1]*r.size[2], 2*(r.size[0]*r.size[1]+r.size[1]*r.size[2]+r.size[2]*r.size[0])
	h := make([]float64, int(r.decayS*micEndDB/60*rateHz))
	from := min(len(h), int(4*volume/surface/soundMPS*rateHz))
	// Diffuse sound has the density 4πc/V a second for a direct sound of 1 at 1 m.
	level := r.farM * math.Sqrt(4*math.Pi*soundMPS/(volume*rateHz))
	if r.cardioid {
		level /= math.Sqrt(3)
	}
	dull := 1 - math.Exp(-2*math.Pi*micDullHz/rateHz)
	level /= math.Sqrt(dull / (2 - dull))
	low, fall := 0.0, math.Pow(10, -3/(r.decayS*rateHz))
	for i := range h {
		low += dull * (random.NormFloat64() - low)
		if i >= from {
			h[i] = level * low * math.Pow(fall, float64(i))
		}
	}
	r.reflections(h, rateHz, math.Exp(-6*math.Ln10/r.decayS*2*volume/(soundMPS*surface)))
	return h
}

// reflections adds those of the images of up to micImages bounces; wall is the
// ratio that a wall returns.
func (r *micRoom) reflections(h []float64, rateHz, wall float64) {
	var source, mic [3]float64
	source[0], mic[0] = (r.size[0]-r.farM)/2, (r.size[0]+r.farM)/2
	source[1], mic[1] = micAside*r.size[1], micAside*r.size[1]
	source[2], mic[2] = micHeight*r.size[2], micHeight*r.size[2]
	for x := -micImages; x <= micImages; x++ {
		for y := -micImages; y <= micImages; y++ {
			for z := -micImages; z <= micImages; z++ {
				bounces := max(x, -x) + max(y, -y) + max(z, -z)
				if bounces == 0 || bounces > micImages {
					continue
				}
				dx := image(x, r.size[0], source[0]) - mic[0]
				dy, dz := image(y, r.size[1], source[1])-mic[1], image(z, r.size[2], source[2])-mic[2]
				way := math.Sqrt(dx*dx + dy*dy + dz*dz)
				ratio := r.farM / way * math.Pow(wall, float64(bounces))
				if r.cardioid {
					ratio *= 0.5 - 0.5*dx/way
				}
				if n := int((way - r.farM) / soundMPS * rateHz); n < len(h) {
					h[n] += ratio
				}
			}
		}
	}
}

// image is where a source at x is seen after n bounces between walls at 0 and
// size, below 0 for those that begin at 0.
func image(n int, size, x float64) float64 {
	if n%2 == 0 {
		return float64(n)*size + x
	}
	return float64(n+1)*size - x
}
