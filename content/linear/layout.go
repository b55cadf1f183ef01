// Package linear decodes samples that stand in a file as plain numbers: linear
// PCM and IEEE 754 floats, as WAV and AIFF hold them.
package linear

import (
	"encoding/binary"
	"math"

	"strop/dsp"
)

// A Layout is how samples stand in a file, channels interleaved. Integers of
// fewer bits than their bytes hold stand at the top, as both formats have it,
// so full scale depends on the bytes alone.
type Layout struct {
	Bytes     int  // of a sample: 1, 2, 3 or 4; 4 or 8 of a float
	Float     bool // else two's complement
	Biased    bool // one byte with silence at 128, instead of two's complement
	BigEndian bool
	Channels  int // 1 or 2
}

// FrameBytes is the size of a frame in the file.
func (l Layout) FrameBytes() int { return l.Bytes * l.Channels }

// An unpack turns bytes into as many frames as dst holds. A frame is step
// bytes long, and its right channel starts right bytes into it: 0 if mono.
type unpack func(dst []dsp.Frame, src []byte, step, right int)

// unpacker is for samples of the lowest byte first; nil if there are no such.
func (l Layout) unpacker() unpack {
	switch {
	case l.Float && l.Bytes == 4:
		return unpackFloat32
	case l.Float && l.Bytes == 8:
		return unpackFloat64
	case l.Float:
		return nil
	case l.Bytes == 1 && l.Biased:
		return unpackBiased
	case l.Bytes == 1:
		return unpackInt8
	case l.Bytes == 2:
		return unpackInt16
	case l.Bytes == 3:
		return unpackInt24
	case l.Bytes == 4:
		return unpackInt32
	}
	return nil
}

// Ratio to full scale of the lowest bit: a power of two, so that a sample
// times it is exact.
const (
	bit8  = 1.0 / (1 << 7)
	bit16 = 1.0 / (1 << 15)
	bit32 = 1.0 / (1 << 31)
)

func unpackBiased(dst []dsp.Frame, src []byte, step, right int) {
	for i := range dst {
		s := src[i*step:]
		dst[i] = dsp.Frame{(float64(s[0]) - 128) * bit8, (float64(s[right]) - 128) * bit8}
	}
}

func unpackInt8(dst []dsp.Frame, src []byte, step, right int) {
	for i := range dst {
		s := src[i*step:]
		dst[i] = dsp.Frame{float64(int8(s[0])) * bit8, float64(int8(s[right])) * bit8}
	}
}

func unpackInt16(dst []dsp.Frame, src []byte, step, right int) {
	for i := range dst {
		s := src[i*step:]
		l, r := binary.LittleEndian.Uint16(s), binary.LittleEndian.Uint16(s[right:])
		dst[i] = dsp.Frame{float64(int16(l)) * bit16, float64(int16(r)) * bit16}
	}
}

// unpackInt24 reads four bytes at a time and drops the last one, but for the
// last frame, which has none after it.
func unpackInt24(dst []dsp.Frame, src []byte, step, right int) {
	last := len(dst) - 1
	if last < 0 {
		return
	}
	for i := range dst[:last] {
		s := src[i*step:]
		left := float64(int32(binary.LittleEndian.Uint32(s)<<8)) * bit32
		dst[i] = dsp.Frame{left, left}
		if right > 0 {
			dst[i][1] = float64(int32(binary.LittleEndian.Uint32(s[right:])<<8)) * bit32
		}
	}
	s := src[last*step:]
	dst[last] = dsp.Frame{float64(top24(s)) * bit32, float64(top24(s[right:])) * bit32}
}

// top24 is a sample of 24 bits, times 256.
func top24(s []byte) int32 {
	return int32(uint32(s[0])<<8 | uint32(s[1])<<16 | uint32(s[2])<<24)
}

func unpackInt32(dst []dsp.Frame, src []byte, step, right int) {
	for i := range dst {
		s := src[i*step:]
		l, r := binary.LittleEndian.Uint32(s), binary.LittleEndian.Uint32(s[right:])
		dst[i] = dsp.Frame{float64(int32(l)) * bit32, float64(int32(r)) * bit32}
	}
}

func unpackFloat32(dst []dsp.Frame, src []byte, step, right int) {
	for i := range dst {
		s := src[i*step:]
		l, r := binary.LittleEndian.Uint32(s), binary.LittleEndian.Uint32(s[right:])
		dst[i] = dsp.Frame{float64(math.Float32frombits(l)), float64(math.Float32frombits(r))}
	}
}

func unpackFloat64(dst []dsp.Frame, src []byte, step, right int) {
	for i := range dst {
		s := src[i*step:]
		l, r := binary.LittleEndian.Uint64(s), binary.LittleEndian.Uint64(s[right:])
		dst[i] = dsp.Frame{math.Float64frombits(l), math.Float64frombits(r)}
	}
}

// turn reverses the bytes of every sample of size bytes.
func turn(b []byte, size int) {
	switch size {
	case 2:
		for i := 0; i+1 < len(b); i += 2 {
			b[i], b[i+1] = b[i+1], b[i]
		}
	case 3:
		for i := 0; i+2 < len(b); i += 3 {
			b[i], b[i+2] = b[i+2], b[i]
		}
	case 4:
		for i := 0; i+3 < len(b); i += 4 {
			binary.LittleEndian.PutUint32(b[i:], binary.BigEndian.Uint32(b[i:]))
		}
	case 8:
		for i := 0; i+7 < len(b); i += 8 {
			binary.LittleEndian.PutUint64(b[i:], binary.BigEndian.Uint64(b[i:]))
		}
	}
}

// finite is how many frames come before the first that is no finite number.
func finite(frames []dsp.Frame) int {
	for i, f := range frames {
		if f[0]-f[0] != 0 || f[1]-f[1] != 0 {
			return i
		}
	}
	return len(frames)
}
