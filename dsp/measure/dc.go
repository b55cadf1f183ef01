package measure

import "strop/dsp"

// DCOffset is the mean of each channel of a clip, full scale 1, weighted by a
// Hann window over all of it, so that a cycle that is cut at the ends does not
// pass for an offset: of a clip of 1 s, a tone of 20 Hz leaves less than
// 0.01 % of itself. 0 where there is nothing.
func DCOffset(buf []dsp.Frame) (offset dsp.Frame) {
	if len(buf) < 2 {
		return offset
	}
	for i, w := range hann(len(buf)) {
		offset[0] += w * buf[i][0]
		offset[1] += w * buf[i][1]
	}
	n := float64(len(buf)) / 2 // what the points of the window add up to
	return dsp.Frame{offset[0] / n, offset[1] / n}
}
