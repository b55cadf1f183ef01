package fault

import (
	"math"
	"math/rand/v2"

	"strop/dsp"
)

var (
	mouthPerS  = dsp.Param{ID: "perS", Name: "clicks a second", Min: 0, Max: 10, Neutral: 0}
	mouthLevel = dsp.Param{ID: "levelDB", Name: "level", Unit: "dB", Min: -40, Max: 0, Neutral: -20}
)

const (
	mouthLoHz   = 2000
	mouthHiHz   = 8000
	mouthFastS  = 0.0005 // in which a click falls by 20 dB, at least
	mouthSlowS  = 0.002  // and at most
	mouthLongS  = 0.005  // and is over
	mouthTakes  = 8      // different ones
	mouthApartS = 0.05
	mouthAfter  = 100   // hops after the last sound of a voice in which a mouth still clicks
	vowelRange  = 0.03  // −15 dB under the loudest
	vowelRatio  = 0.006 // −22 dB: of the top to the middle
)

// MouthClicks adds the clicks of a wet mouth, in the vowels of a voice and in
// its pauses.
//
//	perS     how many a second, where they may be    0 to 10; 0 is none
//	levelDB  peak against that of the voice          −40 to 0 dB
//	seed     draws moments and clicks                0 to 1048576
//
// A click is a damped oscillation of 2 to 8 kHz that falls by 20 dB in 0.5 to 2
// ms. It may be where the voice has sounded within half a second and either
// pauses, 25 dB under the loudest of late, or is on a vowel: no more than 15 dB
// under it, and with little above 5 kHz. Two are 50 ms apart at least. The peak
// of the voice is the greatest of late, falling by 3 dB a second. Both
// channels get the same. Size of a place: levelDB. No latency; with none the
// input is left as it is.
// Source: common practice, no source.
var MouthClicks = dsp.Spec{
	ID:     "mouthclicks",
	Name:   "mouth clicks",
	Doc:    "Adds the clicks of a wet mouth, in the vowels of a voice and in its pauses.",
	Source: "common practice, no source",
	Params: []dsp.Param{mouthPerS, mouthLevel, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		m := &mouth{
			listener: newListener(rateHz), placeLog: newPlaceLog(), seed: seedOf(s), source: new(rand.PCG),
			levelDB: s.Get(mouthLevel), ratio: dsp.FromDB(s.Get(mouthLevel)), apart: int(mouthApartS / hopS),
		}
		m.random = rand.New(m.source)
		if perS := s.Get(mouthPerS); perS > 0 {
			// The gap is a dead time and an exponential: so the chance a hop is higher.
			m.chance = hopS / (1/perS - mouthApartS)
		}
		for i := range m.takes {
			m.takes[i] = mouthClick(rateHz, rand.New(rand.NewPCG(m.seed, 0xc00+uint64(i))))
		}
		m.Reset()
		return m, nil
	},
}

// mouthClick is one click, of peak 1.
func mouthClick(rateHz float64, r *rand.Rand) []float64 {
	freqHz := mouthLoHz * math.Pow(min(mouthHiHz, 0.4*rateHz)/mouthLoHz, r.Float64())
	fallS := mouthFastS * math.Pow(mouthSlowS/mouthFastS, r.Float64())
	x, peak := make([]float64, int(mouthLongS*rateHz)), 0.0
	for i := range x {
		t := float64(i) / rateHz
		x[i] = math.Sin(2*math.Pi*freqHz*t) * math.Pow(10, -t/fallS) * raisedCosine(min(1, 2*(1-t/mouthLongS)))
		peak = max(peak, math.Abs(x[i]))
	}
	for i := range x {
		x[i] /= peak
	}
	return x
}

type mouth struct {
	listener
	placeLog
	ratio, levelDB float64
	chance         float64 // of a click in a hop where one may be
	apart          int     // hops
	seed           uint64
	source         *rand.PCG
	random         *rand.Rand
	takes          [mouthTakes][]float64
	peak           float64 // of the voice
	sounded        int     // hops since it did
	clicked        int     // hops since a click
	wait           int     // frames until the click
	click          []float64
	size           float64
	frames         int
}

var (
	_ dsp.Processor = (*mouth)(nil)
	_ Reporter      = (*mouth)(nil)
)

// Reset begins anew.
func (m *mouth) Reset() {
	m.listener.reset()
	m.clear()
	m.source.Seed(m.seed, 0xc08)
	m.peak, m.sounded, m.clicked, m.wait, m.click, m.frames = 0, mouthAfter, m.apart, 0, nil, 0
}

// Process adds clicks to buf in place.
func (m *mouth) Process(buf []dsp.Frame) {
	if m.chance == 0 {
		return
	}
	for len(buf) > 0 {
		n := min(len(buf), m.room())
		complete := m.hear(buf[:n])
		m.sound(buf[:n])
		m.frames += n
		if complete {
			m.judge()
		}
		buf = buf[n:]
	}
}

// judge draws whether the mouth clicks in the next hop.
func (m *mouth) judge() {
	h := m.back(0)
	m.peak = max(m.peak*math.Sqrt(m.fade), h.peak)
	m.sounded, m.clicked = m.sounded+1, m.clicked+1
	if h.power > m.loud*voiceRange && h.power > leastPower {
		m.sounded = 0
	}
	pause := h.power < m.loud*pauseRange
	vowel := h.power > m.loud*vowelRange && h.top < vowelRatio*h.mid
	if m.sounded >= mouthAfter || m.clicked < m.apart || !pause && !vowel || m.random.Float64() >= m.chance {
		return
	}
	m.wait, m.click = m.random.IntN(m.hop), m.takes[m.random.IntN(mouthTakes)]
	m.size, m.clicked = m.ratio*m.peak, 0
	m.add(Place{Frame: m.frames + m.wait, Frames: len(m.click), SizeDB: m.levelDB})
}

func (m *mouth) sound(buf []dsp.Frame) {
	if m.wait >= len(buf) {
		m.wait -= len(buf)
		return
	}
	buf = buf[m.wait:]
	m.wait = 0
	n := min(len(buf), len(m.click))
	for i, v := range m.click[:n] {
		buf[i][0] += m.size * v
		buf[i][1] += m.size * v
	}
	m.click = m.click[n:]
}
