package drills

import (
	"maps"
	"slices"

	"strop/dsp"
)

// Insert is a processor and what it stands on: the sum of some stems, by
// their numbers from 1, or without any the whole mix.
type Insert struct {
	Stems     []int
	Processor dsp.Processor
}

// OnStem is what most drills need: one processor where the trial is made. on
// is a stem's number, or 0 for the mix.
func OnStem(on int, p dsp.Processor) []Insert {
	if on == 0 {
		return []Insert{{Processor: p}}
	}
	return []Insert{{Stems: []int{on}, Processor: p}}
}

// Made is a change as it came out.
type Made struct {
	RateHz  float64
	Clip    Clip
	On      int
	Setting dsp.Setting
	Inserts []Insert    // as they are after the loop has passed through them
	Before  []dsp.Frame // of what it was made on, alone, untouched
	After   []dsp.Frame // and changed
}

// stemsOf are the numbers of all stems that inserts touch, and on.
func stemsOf(on int, inserts []Insert) (stems []int) {
	if on > 0 {
		stems = append(stems, on)
	}
	for _, in := range inserts {
		stems = append(stems, in.Stems...)
	}
	return union(stems, nil)
}

// union is the numbers in either, in order.
func union(a, b []int) []int {
	all := slices.Sorted(slices.Values(slices.Concat(a, b)))
	return slices.Compact(all)
}

// mixdown is a loop with inserts on it: alone is the sum of the stems that a
// trial is about, whole is everything that is heard. Where the trial is about
// the mix, the two are one.
type mixdown struct {
	alone, whole []dsp.Frame
}

// mixed lays inserts on a loop, in order. solo are the stems that the trial is
// about; heard alone, the others are left out. Only stems that are touched or
// meant are loaded: the rest of the mix is the mix without them.
func mixed(c Clip, heard string, solo []int, inserts []Insert) (m mixdown, err error) {
	if len(c.Stems) == 0 || len(solo) == 0 {
		m.whole = slices.Clone(c.Frames)
		for _, in := range inserts {
			m.whole = loopThrough(in.Processor, m.whole, c.Loop.RateHz)
		}
		return mixdown{m.whole, m.whole}, nil
	}
	touched := union(solo, stemsOf(0, inserts))
	buses := make(map[int][]dsp.Frame, len(touched))
	for _, n := range touched {
		if buses[n], err = c.Stems[n-1].Load(); err != nil {
			return m, err
		}
	}
	m.whole = slices.Clone(c.Frames)
	onMix := lay(m.whole, buses, inserts, c.Loop.RateHz)
	m.alone = make([]dsp.Frame, len(c.Frames))
	for _, n := range solo {
		add(m.alone, buses[n], 1)
	}
	if heard == Alone {
		m.whole = m.alone
	}
	for _, p := range onMix {
		m.whole = loopThrough(p, m.whole, c.Loop.RateHz)
	}
	return m, nil
}

// lay puts inserts on the buses they are for, and what that changes into the
// mix. It returns those that are for the mix itself.
func lay(mix []dsp.Frame, buses map[int][]dsp.Frame, inserts []Insert, rateHz float64) (onMix []dsp.Processor) {
	before := maps.Clone(buses)
	changed := map[int]bool{}
	for _, in := range inserts {
		if len(in.Stems) == 0 {
			onMix = append(onMix, in.Processor)
			continue
		}
		insert(buses, in, rateHz)
		for _, n := range in.Stems {
			changed[n] = true
		}
	}
	for _, n := range slices.Sorted(maps.Keys(changed)) {
		add(mix, before[n], -1)
		add(mix, buses[n], 1)
	}
	return onMix
}

// insert puts the sum of some buses through a processor. What comes out stands
// on the first of them, and the others fall silent.
func insert(buses map[int][]dsp.Frame, in Insert, rateHz float64) {
	first := in.Stems[0]
	if len(in.Stems) > 1 {
		sum := slices.Clone(buses[first])
		for _, n := range in.Stems[1:] {
			add(sum, buses[n], 1)
			buses[n] = nil
		}
		buses[first] = sum
	}
	buses[first] = loopThrough(in.Processor, buses[first], rateHz)
}

func add(sum, frames []dsp.Frame, ratio float64) {
	for i, f := range frames {
		sum[i][0] += ratio * f[0]
		sum[i][1] += ratio * f[1]
	}
}

// settleS is how much of the loop's end a processor hears beforehand: longer
// than any of them remembers to be heard. Common practice, no source.
const settleS = 3.0

// loopThrough is the loop as it sounds through p when it has been repeating
// for a while: its end, then the whole, which is kept, p's delay turned back.
// frames is not altered.
func loopThrough(p dsp.Processor, frames []dsp.Frame, rateHz float64) []dsp.Frame {
	p.Reset()
	p.Process(slices.Clone(frames[max(0, len(frames)-int(settleS*rateHz)):]))
	out := slices.Clone(frames)
	p.Process(out)
	rotateLeft(out, dsp.DelayFrames(p))
	return out
}

func rotateLeft(frames []dsp.Frame, n int) {
	if len(frames) == 0 {
		return
	}
	n %= len(frames)
	slices.Reverse(frames[:n])
	slices.Reverse(frames[n:])
	slices.Reverse(frames)
}
