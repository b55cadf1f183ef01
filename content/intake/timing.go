package intake

import (
	"math"
	"slices"
	"sort"

	"strop/content"
)

// Timing is how the onsets of a stem lie in time.
//
//	Against   "beats": the sixteenths of a song whose beats are known;
//	          "drums": the onsets of the stems of drums
//	MedianMS  above 0 it is late
//	SpreadMS  1.4826 times the median deviation from that: the standard
//	          deviation, if they are normally distributed
//	Onsets    how many were compared
//
// Onsets are where a sound begins, which is some milliseconds before it is
// felt, more for soft attacks.
type Timing struct {
	Against  string  `json:"against"`
	MedianMS float64 `json:"medianMS"`
	SpreadMS float64 `json:"spreadMS"`
	Onsets   int     `json:"onsets"`
}

// What a timing is told from. Our own choices.
const (
	onsetStretches = 6     // that are looked at
	onsetReachS    = 0.070 // farther off, an onset belongs to no other
	leastOnsets    = 8
)

// drumRoles are those that others play to.
var drumRoles = []content.Role{content.Kick, content.Snare, content.DrumMachine, content.Drums}

// time compares the onsets of all stems with the beats, where they are known,
// or with the drums.
func (c *check) time() {
	if grid := c.sixteenths(); len(grid) > 0 {
		for _, f := range c.found {
			f.Timing = against("beats", f.onsetsS, grid)
		}
		return
	}
	var drums []float64
	for _, f := range c.found {
		if slices.Contains(drumRoles, f.Role) {
			drums = append(drums, f.onsetsS...)
		}
	}
	slices.Sort(drums)
	for _, f := range c.found {
		if !slices.Contains(drumRoles, f.Role) {
			f.Timing = against("drums", f.onsetsS, drums)
		}
	}
}

// sixteenths are the times of the beats and of three places between them.
func (c *check) sixteenths() (grid []float64) {
	beats := c.sheet.Score.Beats
	for i := 0; i+1 < len(beats); i++ {
		for k := range 4 {
			grid = append(grid, (float64(beats[i])+float64(k)/4*float64(beats[i+1]-beats[i]))/c.sheet.RateHz)
		}
	}
	return grid
}

func against(what string, onsetsS, gridS []float64) *Timing {
	var offsets []float64
	for _, at := range onsetsS {
		if d := at - nearest(gridS, at); math.Abs(d) <= onsetReachS {
			offsets = append(offsets, 1000*d)
		}
	}
	if len(offsets) < leastOnsets {
		return nil
	}
	middle := median(offsets)
	t := &Timing{Against: what, MedianMS: middle, Onsets: len(offsets)}
	for i := range offsets {
		offsets[i] = math.Abs(offsets[i] - middle)
	}
	t.SpreadMS = 1.4826 * median(offsets)
	return t
}

// nearest is the time of a grid that is nearest to one, +Inf of an empty grid.
func nearest(gridS []float64, at float64) float64 {
	i := sort.SearchFloat64s(gridS, at)
	best := math.Inf(1)
	for _, k := range []int{i - 1, i} {
		if k >= 0 && k < len(gridS) && math.Abs(gridS[k]-at) < math.Abs(best-at) {
			best = gridS[k]
		}
	}
	return best
}

// median sorts values and is the middle one.
func median(values []float64) float64 {
	slices.Sort(values)
	n := len(values)
	return (values[(n-1)/2] + values[n/2]) / 2
}
