package dynamics

// hold is the greatest of the last so many values given to it, all at least 0.
// It keeps only those that can still become the greatest: falling values, each
// with its time.
//
// Source: D. Lemire, Streaming maximum-minimum filter using no more than three
// comparisons per element, Nordic Journal of Computing 13 (2006) (from memory).
type hold struct {
	values      []held
	first, used int
	frames      int
	now         int
}

type held struct {
	value float64
	at    int
}

func newHold(frames int) hold { return hold{values: make([]held, frames), frames: frames} }

func (h *hold) reset() { *h = hold{values: h.values, frames: h.frames} }

func (h *hold) wrap(i int) int {
	if i >= len(h.values) {
		return i - len(h.values)
	}
	return i
}

// next takes a value and gives the greatest of the last frames. A 0 is never
// kept: an empty store stands for it.
func (h *hold) next(v float64) float64 {
	h.now++
	if h.used > 0 && h.now-h.values[h.first].at >= h.frames {
		h.first = h.wrap(h.first + 1)
		h.used--
	}
	if v > 0 {
		for h.used > 0 && h.values[h.wrap(h.first+h.used-1)].value <= v {
			h.used--
		}
		h.values[h.wrap(h.first+h.used)] = held{v, h.now}
		h.used++
	}
	if h.used == 0 {
		return 0
	}
	return h.values[h.first].value
}

// boxcar is the sum of the last so many whole numbers, exact for ever.
type boxcar struct {
	last []int64
	at   int
	sum  int64
}

func newBoxcar(frames int) boxcar { return boxcar{last: make([]int64, frames)} }

func (b *boxcar) reset() {
	clear(b.last)
	b.at, b.sum = 0, 0
}

func (b *boxcar) next(v int64) int64 {
	b.sum += v - b.last[b.at]
	b.last[b.at] = v
	if b.at++; b.at == len(b.last) {
		b.at = 0
	}
	return b.sum
}
