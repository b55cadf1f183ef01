package demo

import (
	"math"

	"strop/dsp"
)

// room is a small room around the stems that send to it: eight delay lines
// fed back through a Householder matrix, each with a first-order low-pass,
// decaying by 60 dB in roomS. Even lines are heard left, odd ones right.
//
// Source: Jot & Chaigne, Digital delay networks for designing artificial
// reverberators, AES 90th Convention (1991) (from memory).
type room struct {
	lines [8][]float64
	at    [8]int
	low   [8]float64
	gain  [8]float64
}

const roomS = 0.45

// Lengths in frames at 48 kHz: primes, 5 ms to 19 ms.
var roomLengths = [8]int{241, 317, 409, 503, 599, 691, 797, 907}

func newRoom() *room {
	r := new(room)
	for i, n := range roomLengths {
		r.lines[i] = make([]float64, n)
		r.gain[i] = math.Pow(10, -3*float64(n)/(roomS*rateHz))
	}
	return r
}

// Process replaces buf by the sound of the room alone.
func (r *room) Process(buf []dsp.Frame) {
	for i, in := range buf {
		var out [8]float64
		var wet dsp.Frame
		sum := 0.0
		for k := range out {
			r.low[k] += 0.7 * (r.lines[k][r.at[k]] - r.low[k])
			out[k] = r.gain[k] * r.low[k]
			sum += out[k]
			wet[k%2] += out[k]
		}
		for k := range out {
			r.lines[k][r.at[k]] = in[k%2] + out[k] - sum/4
			if r.at[k]++; r.at[k] == len(r.lines[k]) {
				r.at[k] = 0
			}
		}
		buf[i] = wet
	}
}
