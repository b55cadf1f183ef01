package demo

import (
	"math"
)

// room is the sound of a room that comes from everywhere: sixteen delay lines
// fed back through a Householder matrix, each with a first-order low-pass,
// falling by 60 dB in the decay time. A Walsh-Hadamard transform of the lines
// gives each microphone a sound of its own, unrelated to all others.
//
// Source: Jot & Chaigne, Digital delay networks for designing artificial
// reverberators, AES 90th Convention (1991) (from memory).
type room struct {
	lines  [maxMics][]float64
	at     [maxMics]int
	low    [maxMics]float64
	gain   [maxMics]float64
	smooth float64
}

// maxMics is how many microphones can stand in one room.
const maxMics = 16

// roomLines are lengths in frames: primes, 4 ms to 33 ms.
var roomLines = [maxMics]int{191, 241, 307, 367, 431, 499, 571, 647, 727, 811, 907, 1013, 1129, 1259, 1409, 1583}

// damping of the high frequencies on each round: at 8 kHz a room falls about
// twice as fast as in the middle. Common practice, no source.
const roomSmooth = 0.16

func newRoom(decayS float64) *room {
	r := &room{smooth: roomSmooth}
	for i, n := range roomLines {
		r.lines[i] = make([]float64, n)
		r.gain[i] = math.Pow(10, -3*float64(n)/(decayS*rateHz))
	}
	return r
}

// step takes one value in and gives what the first n microphones hear.
func (r *room) step(in float64, out *[maxMics]float64, n int) {
	sum := 0.0
	for k := range out {
		line, at := r.lines[k], r.at[k]
		r.low[k] += (1 - r.smooth) * (line[at] - r.low[k])
		out[k] = r.gain[k] * r.low[k]
		sum += out[k]
	}
	sum /= maxMics / 2
	for k := range out {
		line, at := r.lines[k], r.at[k]
		line[at] = in + out[k] - sum
		if at++; at == len(line) {
			at = 0
		}
		r.at[k] = at
	}
	if n > 2 {
		walsh(out)
		return
	}
	even, odd := 0.0, 0.0 // the first two of the transform
	for k := 0; k < maxMics; k += 2 {
		even, odd = even+out[k], odd+out[k+1]
	}
	out[0], out[1] = (even+odd)/4, (even-odd)/4
}

// walsh is the Walsh-Hadamard transform, scaled to keep the power.
func walsh(x *[maxMics]float64) {
	for half := 1; half < maxMics; half *= 2 {
		for i := 0; i < maxMics; i += 2 * half {
			for j := i; j < i+half; j++ {
				a, b := x[j], x[j+half]
				x[j], x[j+half] = a+b, a-b
			}
		}
	}
	for i := range x {
		x[i] /= 4
	}
}

// power is the energy of the response of one microphone, their mean.
func (r *room) power(decayS float64) (sum float64) {
	var out [maxMics]float64
	for i := range int(1.5 * decayS * rateHz) {
		in := 0.0
		if i == 0 {
			in = 1
		}
		r.step(in, &out, maxMics)
		for _, v := range out {
			sum += v * v / maxMics
		}
	}
	return sum
}

func (rs *roomScore) volume() float64 { return rs.size[0] * rs.size[1] * rs.size[2] }

func (rs *roomScore) surface() float64 {
	w, d, h := rs.size[0], rs.size[1], rs.size[2]
	return 2 * (w*d + w*h + d*h)
}

// criticalM is the distance from an omnidirectional source at which its sound
// is as strong as that of the room: 0.057·√(V/T).
func (rs *roomScore) criticalM() float64 { return 0.057 * math.Sqrt(rs.volume()/rs.decayS) }

// reflection is what a wall sends back of a pressure, after Sabine:
// T = 0.161·V/(S·a).
func (rs *roomScore) reflection() float64 {
	absorbed := 0.161 * rs.volume() / (rs.surface() * rs.decayS)
	return math.Sqrt(max(0.05, 1-absorbed))
}

// images are a source as the six surfaces mirror it.
func (rs *roomScore) images(p place) (images [6]place) {
	for i := range images {
		images[i] = p
		images[i][i%3] = -p[i%3]
		if i >= 3 {
			images[i][i%3] = 2*rs.size[i%3] - p[i%3]
		}
	}
	return images
}

// echo is one reflection on its way to a microphone.
type echo struct {
	delay int
	ratio float64
}

// echoes of a source at a microphone. Close microphones do without: what they
// would hear lies far below the source.
func (rs *roomScore) echoes(from place, st *stemScore) (echoes []echo) {
	if st.at.distance(from) < echoesFromM {
		return nil
	}
	for _, image := range rs.images(from) {
		p := st.routeTo(image)
		echoes = append(echoes, echo{int(math.Round(p.delay)), p.ratio * rs.reflection()})
	}
	return echoes
}

const echoesFromM = 0.5
