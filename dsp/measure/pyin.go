package measure

import "math"

// PYIN is the pitch of one voice in the course of time, as it is likeliest as a
// whole. Each window has several periods, each with a probability; the way
// through them that is likeliest under a model of how voices move is kept:
// pitches in steps of 10 cents, sounding or not, at most 250 cents from one
// window to the next, and seldom from sound to silence.
//
// The probability of a period is that of a threshold, drawn from a Beta(2, 18)
// distribution, for which YIN would have chosen it. The paper sums over 100
// thresholds, and gives the lowest minimum a little where none is met; here the
// distribution is integrated, and such a window has no pitch.
//
// It is less easily led to an octave than YIN, tells sound from silence better
// and is as exact. It is the one to use on a recording.
//
// Source: M. Mauch, S. Dixon, pYIN, a fundamental frequency estimator using
// probabilistic threshold distributions, ICASSP (2014) (from memory).
func PYIN(x []float64, rateHz float64, r PitchRange) (PitchTrack, error) {
	look, err := newPitchLook(rateHz, r)
	if err != nil {
		return nil, err
	}
	track := look.track(len(x))
	model := newPitchModel(r, len(track))
	candidates := make([][]pitchCandidate, len(track))
	for i := range track {
		candidates[i] = look.candidates(look.at(x, i))
		model.observe(i, candidates[i])
	}
	for i, bin := range model.best() {
		track[i].Rest = 1
		if c, ok := nearestCandidate(candidates[i], model.freqHz(bin)); bin >= 0 && ok {
			frames := look.at(x, i)
			lag := lowestAround(look.finder.Compare(frames), c.lag)
			track[i].FreqHz, track[i].Rest = rateHz/look.finder.Refine(frames, lag), c.rest
		}
	}
	return track, nil
}

// pitchCandidate is a period that a window may have.
type pitchCandidate struct {
	lag         int
	freqHz      float64
	rest        float64
	probability float64
}

// candidates are the minima of d', each with the probability of the thresholds
// that it is the first to be below.
func (p *pitchLook) candidates(frames []float64) (all []pitchCandidate) {
	d := p.finder.Compare(frames)
	left := 1.0 // the lowest minimum so far
	for lag := max(p.least, 1); lag < len(d)-1; lag++ {
		if d[lag] >= left || d[lag] >= d[lag-1] || d[lag] > d[lag+1] {
			continue
		}
		all = append(all, pitchCandidate{lag, p.rateHz / float64(lag), d[lag], betaBelow(left) - betaBelow(d[lag])})
		left = d[lag]
	}
	return all
}

// lowestAround is the lag within 50 cents of another at which d' is lowest.
func lowestAround(d []float64, lag int) int {
	best := lag
	for i := int(float64(lag) * 0.9716); i < len(d) && float64(i) <= float64(lag)*1.0293; i++ {
		if d[i] < d[best] {
			best = i
		}
	}
	return best
}

// betaBelow is the probability that a number of a Beta(2, 18) distribution is
// less than x: 1 − (1−x)^19 − 19·x·(1−x)^18.
func betaBelow(x float64) float64 {
	rest := math.Pow(1-min(max(x, 0), 1), 18)
	return 1 - rest*(1-x) - 19*x*rest
}

// nearestCandidate is the one within 50 cents of a frequency that is likeliest.
func nearestCandidate(all []pitchCandidate, freqHz float64) (best pitchCandidate, ok bool) {
	for _, c := range all {
		if math.Abs(Cents(c.freqHz, freqHz)) < 50 && c.probability >= best.probability {
			best, ok = c, true
		}
	}
	return best, ok
}

// pitchModel is a hidden Markov model whose states are pitches, each sounding or
// not, and its likeliest way through all windows.
type pitchModel struct {
	lowHz  float64
	bins   int
	score  []float64 // log probability of each state; the second half does not sound
	next   []float64
	chance []float64 // of each bin in the window in hand
	from   [][]int32 // by window: where each state came from
	jump   [2*pitchReach + 1]float64
}

const (
	pitchStepCents = 10
	pitchReach     = 25   // bins from one window to the next
	pitchSwitch    = 0.01 // probability of beginning or ceasing to sound
	pitchFloor     = 1e-8 // no window rules a state out
)

func newPitchModel(r PitchRange, windows int) *pitchModel {
	m := &pitchModel{lowHz: r.LowHz, bins: int(Cents(r.HighHz, r.LowHz)/pitchStepCents) + 1, from: make([][]int32, windows)}
	m.score, m.next, m.chance = make([]float64, 2*m.bins), make([]float64, 2*m.bins), make([]float64, m.bins)
	sum := 0.0
	for i := range m.jump {
		m.jump[i] = float64(pitchReach + 1 - max(i-pitchReach, pitchReach-i))
		sum += m.jump[i]
	}
	for i := range m.jump {
		m.jump[i] = math.Log(m.jump[i] / sum)
	}
	return m
}

// freqHz is the middle of a bin.
func (m *pitchModel) freqHz(bin int) float64 {
	return m.lowHz * math.Exp2((float64(bin)+0.5)*pitchStepCents/1200)
}

// observe moves every state one window on.
func (m *pitchModel) observe(window int, candidates []pitchCandidate) {
	clear(m.chance)
	sum := 0.0
	for _, c := range candidates {
		if bin := int(math.Floor(Cents(c.freqHz, m.lowHz) / pitchStepCents)); bin >= 0 && bin < m.bins {
			m.chance[bin] += c.probability
			sum += c.probability
		}
	}
	silent := math.Log(max(1-sum, pitchFloor) / float64(m.bins))
	from := make([]int32, 2*m.bins)
	stay, change := math.Log(1-pitchSwitch), math.Log(pitchSwitch)
	for bin := range m.bins {
		on, onAt := m.highest(bin, 0)
		off, offAt := m.highest(bin, m.bins)
		m.next[bin], from[bin] = on+stay, onAt
		if off+change > on+stay {
			m.next[bin], from[bin] = off+change, offAt
		}
		m.next[bin] += math.Log(m.chance[bin] + pitchFloor)
		m.next[m.bins+bin], from[m.bins+bin] = off+stay, offAt
		if on+change > off+stay {
			m.next[m.bins+bin], from[m.bins+bin] = on+change, onAt
		}
		m.next[m.bins+bin] += silent
	}
	m.from[window] = from
	m.score, m.next = m.next, m.score
}

// highest is the best score, with the jump, of the states around a bin that
// begin at base.
func (m *pitchModel) highest(bin, base int) (score float64, at int32) {
	score = math.Inf(-1)
	for i := max(bin-pitchReach, 0); i <= min(bin+pitchReach, m.bins-1); i++ {
		if s := m.score[base+i] + m.jump[i-bin+pitchReach]; s > score {
			score, at = s, int32(base+i)
		}
	}
	return score, at
}

// best is the bin of every window on the likeliest way, −1 where it does not
// sound.
func (m *pitchModel) best() []int {
	way := make([]int, len(m.from))
	state := 0
	for i, s := range m.score {
		if s > m.score[state] {
			state = i
		}
	}
	for w := len(way) - 1; w >= 0; w-- {
		way[w] = state
		if state >= m.bins {
			way[w] = -1
		}
		state = int(m.from[w][state])
	}
	return way
}
