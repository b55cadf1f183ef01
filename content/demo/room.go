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
	quiet  int // frames since anything came in
	gone   int // frames after which nothing is left of it
}

// maxMics is how many microphones can stand in one room.
const maxMics = 16

// roomLines are lengths in frames: primes, 4 ms to 33 ms.
var roomLines = [maxMics]int{191, 241, 307, 367, 431, 499, 571, 647, 727, 811, 907, 1013, 1129, 1259, 1409, 1583}

// damping of the high frequencies on each round: at 8 kHz a room falls about
// twice as fast as in the middle. Common practice, no source.
const roomSmooth = 0.16

// goneDB is how far a room falls until it is silent.
const goneDB = 180

func newRoom(decayS float64) *room {
	r := &room{smooth: roomSmooth, gone: int(goneDB / 60 * decayS * rateHz)}
	for i, n := range roomLines {
		r.lines[i] = make([]float64, n)
		r.gain[i] = math.Pow(10, -3*float64(n)/(decayS*rateHz))
	}
	return r
}

// process takes some frames in, at most sessionBlock, and gives what the first
// few microphones hear; the rest of out is left with anything. sounds tells
// whether there is anything in the frames: a room that has been silent for
// long enough costs nothing.
func (r *room) process(in []float64, sounds bool, out *[maxMics][sessionBlock]float64, mics int) {
	if r.quiet += len(in); sounds {
		r.quiet = 0
	}
	if r.quiet > r.gone {
		r.clear()
		for k := range mics {
			clear(out[k][:len(in)])
		}
		return
	}
	var wet [maxMics][]float64
	for from := 0; from < len(in); from += roomChunk {
		to := min(from+roomChunk, len(in))
		for k := range wet {
			wet[k] = out[k][from:to]
		}
		r.chunk(in[from:to], &wet, mics)
	}
}

func (r *room) clear() {
	for k, line := range r.lines {
		clear(line)
		r.low[k] = 0
	}
}

// roomChunk is how many frames go round at a time: fewer than the shortest
// line holds.
const roomChunk = 128

// chunk goes once round the lines.
func (r *room) chunk(in []float64, wet *[maxMics][]float64, mics int) {
	var even, odd [roomChunk]float64
	for k, line := range r.lines {
		n := copy(wet[k], line[r.at[k]:])
		copy(wet[k][n:], line)
	}
	for k := 0; k < maxMics; k += 4 {
		r.damp(k, wet, &even, &odd)
	}
	for k := range r.lines {
		r.feed(k, in, wet[k], &even, &odd)
	}
	if mics > 2 {
		walsh(wet)
		return
	}
	for i := range in { // the first two of the transform
		wet[0][i], wet[1][i] = (even[i]+odd[i])/4, (even[i]-odd[i])/4
	}
}

// damp takes four lines through their low-pass, and adds them up.
func (r *room) damp(k int, wet *[maxMics][]float64, even, odd *[roomChunk]float64) {
	a, b, c, d := wet[k], wet[k+1], wet[k+2], wet[k+3]
	b, c, d = b[:len(a)], c[:len(a)], d[:len(a)]
	low, gain, open := [4]float64(r.low[k:]), [4]float64(r.gain[k:]), 1-r.smooth
	for i := range a {
		low[0] += open * (a[i] - low[0])
		low[1] += open * (b[i] - low[1])
		low[2] += open * (c[i] - low[2])
		low[3] += open * (d[i] - low[3])
		a[i], b[i], c[i], d[i] = gain[0]*low[0], gain[1]*low[1], gain[2]*low[2], gain[3]*low[3]
		even[i] += a[i] + c[i]
		odd[i] += b[i] + d[i]
	}
	copy(r.low[k:], low[:])
}

// feed writes line k on: what comes in, and its row of the matrix.
func (r *room) feed(k int, in, wet []float64, even, odd *[roomChunk]float64) {
	line, at := r.lines[k], r.at[k]
	wet = wet[:len(in)]
	for i, v := range in {
		line[at] = v + wet[i] - (even[i]+odd[i])/(maxMics/2)
		if at++; at == len(line) {
			at = 0
		}
	}
	r.at[k] = at
}

// walsh is the Walsh-Hadamard transform, scaled to keep the power.
func walsh(x *[maxMics][]float64) {
	for half := 1; half < maxMics; half *= 2 {
		for i := 0; i < maxMics; i += 2 * half {
			for j := i; j < i+half; j++ {
				butterfly(x[j], x[j+half])
			}
		}
	}
	for _, x := range x {
		for i := range x {
			x[i] /= 4
		}
	}
}

// butterfly leaves the sum and the difference.
func butterfly(x, y []float64) {
	y = y[:len(x)]
	for i, a := range x {
		x[i], y[i] = a+y[i], a-y[i]
	}
}

// power is the energy of the response of one microphone, their mean.
func (r *room) power(decayS float64) (sum float64) {
	var in [sessionBlock]float64
	out := new([maxMics][sessionBlock]float64)
	in[0] = 1
	for from := 0; from < int(1.5*decayS*rateHz); from += sessionBlock {
		r.process(in[:], true, out, maxMics)
		in[0] = 0
		for _, heard := range out {
			for _, v := range heard {
				sum += v * v / maxMics
			}
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
