package resample

import "strop/dsp"

// Region fills dst with the frames from start on, at the new rate, of a sound
// that read can give from any frame on: before its start, which it is asked
// for, and after its end, silence. They are those that Stream would give, bit
// for bit.
func (r *Resampler) Region(dst []dsp.Frame, start int64, read func(src []dsp.Frame, from int64) error) error {
	if r.table == nil {
		return read(dst, start)
	}
	up, down := int64(r.up), int64(r.down)
	buf := make([]dsp.Frame, r.taps+blockFrames)
	for len(dst) > 0 {
		n := min(int64(len(dst)), max(1, (blockFrames-1)*up/down))
		first, last := start*down/up, (start+n-1)*down/up
		src := buf[:int(last-first)+r.taps]
		if err := read(src, first-int64(r.taps/2-1)); err != nil {
			return err
		}
		for i := range dst[:n] {
			at := (start + int64(i)) * down
			dst[i] = dot(r.table[int(at%up)*r.taps:][:r.taps], src[at/up-first:][:r.taps])
		}
		dst, start = dst[n:], start+n
	}
	return nil
}
