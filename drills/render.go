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
	HeldDB  float64     // by how much After was turned to be as loud as Before
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
// the mix, the two are one. Without inserts they may be shared with the clip.
type mixdown struct {
	alone, whole []dsp.Frame
	shared       bool
}

// loaded are some stems of a loop, by their numbers.
func loaded(c Clip, stems []int) (map[int][]dsp.Frame, error) {
	buses := make(map[int][]dsp.Frame, len(stems))
	if len(c.Stems) == 0 {
		return buses, nil
	}
	for _, n := range stems {
		frames, err := c.Stems[n-1].Load()
		if err != nil {
			return nil, err
		}
		buses[n] = frames
	}
	return buses, nil
}

// mixed lays inserts on a loop, in order. solo are the stems that the trial is
// about; heard alone, the others are left out. Only stems that are touched or
// meant are needed, as loaded: the rest of the mix is the mix without them.
func mixed(c Clip, heard string, solo []int, inserts []Insert, stems map[int][]dsp.Frame) (m mixdown) {
	m.shared = len(inserts) == 0
	if len(c.Stems) == 0 || len(solo) == 0 {
		m.whole = c.Frames
		for _, in := range inserts {
			m.whole = loopThrough(in.Processor, m.whole, c.Loop.RateHz)
		}
		m.alone = m.whole
		return m
	}
	buses := maps.Clone(stems)
	var onMix []dsp.Processor
	for _, in := range inserts {
		if len(in.Stems) == 0 {
			onMix = append(onMix, in.Processor)
		} else {
			insert(buses, in, c.Loop.RateHz)
		}
	}
	m.alone = sumOf(buses, stems, solo, len(c.Frames), m.shared)
	if heard == Alone {
		m.whole = m.alone
	} else {
		m.whole = exchanged(c.Frames, stems, buses)
	}
	for _, p := range onMix {
		m.whole = loopThrough(p, m.whole, c.Loop.RateHz)
	}
	return m
}

// insert puts the sum of some buses through a processor. What comes out stands
// on the first of them, and the others fall silent.
func insert(buses map[int][]dsp.Frame, in Insert, rateHz float64) {
	first := in.Stems[0]
	sum := buses[first]
	if len(in.Stems) > 1 {
		sum = slices.Clone(sum)
		for _, n := range in.Stems[1:] {
			add(sum, buses[n])
			buses[n] = nil
		}
	}
	buses[first] = loopThrough(in.Processor, sum, rateHz)
}

// sumOf is the sum of some buses: frames of its own, or where that will do
// those of the bus.
func sumOf(buses, stems map[int][]dsp.Frame, numbers []int, n int, shared bool) []dsp.Frame {
	if bus := buses[numbers[0]]; len(numbers) == 1 && len(bus) == n && (shared || !alike(bus, stems[numbers[0]])) {
		return bus
	}
	sum := make([]dsp.Frame, n)
	for _, on := range numbers {
		add(sum, buses[on])
	}
	return sum
}

// alike reports whether two buses are the same memory.
func alike(a, b []dsp.Frame) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}

func add(sum, frames []dsp.Frame) {
	for i, f := range frames {
		sum[i][0] += f[0]
		sum[i][1] += f[1]
	}
}

// exchanged is a mix with other buses in place of the stems they were made of.
// Where none is another it is the mix itself.
func exchanged(mix []dsp.Frame, stems, buses map[int][]dsp.Frame) []dsp.Frame {
	out := mix
	for _, n := range slices.Sorted(maps.Keys(buses)) {
		before, after := stems[n], buses[n]
		if alike(before, after) {
			continue
		}
		if alike(out, mix) {
			out = slices.Clone(mix)
		}
		if after == nil {
			subtract(out, before)
		} else {
			exchange(out, before, after)
		}
	}
	return out
}

func subtract(sum, frames []dsp.Frame) {
	for i, f := range frames {
		sum[i][0] -= f[0]
		sum[i][1] -= f[1]
	}
}

func exchange(sum, before, after []dsp.Frame) {
	before, after = before[:len(sum)], after[:len(sum)]
	for i := range sum {
		sum[i][0] += after[i][0] - before[i][0]
		sum[i][1] += after[i][1] - before[i][1]
	}
}

// settleS is how much of the loop's end a processor hears beforehand that does
// not tell how much it needs: longer than any of them remembers to be heard.
// Common practice, no source.
const settleS = 3.0

// loopThrough is the loop as it sounds through p when it has been repeating
// for a while: its end, and as much of its beginning as p is late, then the
// whole from there on, which is kept. Of a chain each is settled for itself.
// frames is not altered.
func loopThrough(p dsp.Processor, frames []dsp.Frame, rateHz float64) []dsp.Frame {
	if chain, ok := p.(dsp.Chain); ok && len(chain) > 0 {
		for _, p := range chain {
			frames = loopThrough(p, frames, rateHz)
		}
		return frames
	}
	if len(frames) == 0 {
		return nil
	}
	late := dsp.DelayFrames(p) % len(frames)
	end := dsp.SettleFrames(p, int(settleS*rateHz)) - late
	p.Reset()
	dsp.Render(p, slices.Concat(frames[len(frames)-min(max(end, 0), len(frames)):], frames[:late]))
	out := slices.Concat(frames[late:], frames[:late])
	dsp.Render(p, out)
	return out
}
