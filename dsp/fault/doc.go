// Package fault holds what is wrong with a source before any mixing: hum and
// hiss, clipping, clicks, dropouts and the like, each of known size, so that
// an engineer can learn to hear it and to refuse the take. measure has a meter
// for each that reads the size back.
//
// A level is that of the fault itself, whatever it is added to: of its peak in
// dBFS, or of its rms, where a full-scale sine on both channels reads 0 dBFS as
// in AES17. What is drawn at random is drawn from the parameter seed: the same
// setting gives the same fault in every render. The neutral setting is no fault
// at all, to the bit.
package fault

import "strop/dsp"

// Place is where a fault was put, and how strong it is there.
//
//	Frame   its first frame, counted from the first frame after Reset, delay included
//	Frames  how many frames it lasts, at least 1
//	SizeDB  its size; what is meant, and of what, each fault says
type Place struct {
	Frame, Frames int
	SizeDB        float64
}

// Reporter is implemented by a processor of this package that acts at places.
type Reporter interface {
	// Places are those that have begun since Reset, in their order, the last
	// maxPlaces of them. The slice is the caller's. Not to be called while
	// Process runs.
	Places() []Place
}

// maxPlaces is how many places a fault keeps: minutes of them.
const maxPlaces = 4096

// placeLog is the last maxPlaces places. Embedded, it makes a Reporter.
type placeLog struct {
	ring  []Place
	count int // since clear
}

func newPlaceLog() placeLog { return placeLog{ring: make([]Place, maxPlaces)} }

// add keeps p in place of the oldest.
func (l *placeLog) add(p Place) {
	l.ring[l.count%maxPlaces] = p
	l.count++
}

// last is the place that was added last, to be completed; there is one.
func (l *placeLog) last() *Place { return &l.ring[(l.count-1)%maxPlaces] }

func (l *placeLog) clear() { l.count = 0 }

// Places are the places since Reset; see Reporter.
func (l *placeLog) Places() []Place {
	places := make([]Place, min(l.count, maxPlaces))
	for i := range places {
		places[i] = l.ring[(l.count-len(places)+i)%maxPlaces]
	}
	return places
}

var _ Reporter = (*placeLog)(nil)

// seed is a parameter of every fault that draws at random.
var seed = dsp.Param{ID: "seed", Name: "seed", Min: 0, Max: 1 << 20, Neutral: 1, Scale: dsp.Whole}

// seedOf is the first word of a generator's seed; the second tells faults of
// the same seed apart.
func seedOf(s dsp.Setting) uint64 { return uint64(s.Get(seed)) }
