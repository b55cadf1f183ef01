package mp3

import "encoding/binary"

// A header is the first four bytes of a frame. Source: ISO/IEC 11172-3:1993,
// 2.4.2.3, and ISO/IEC 13818-3:1998 for the low rates. MPEG 2.5, of still lower
// rates, is in neither, but in use.
type header uint32

func parseHeader(data []byte) header { return header(binary.BigEndian.Uint32(data)) }

// valid tells a header of a layer-3 or layer-2 frame of a stated bit rate. Free
// format, which leaves the bit rate open, is not valid here.
func (h header) valid() bool {
	return h>>21 == 0x7ff && h.version() != 1 && (h.layer() == 3 || h.layer() == 2) &&
		h.rateIndex() != 3 && h&3 != 2 && h.bitrateIndex() != 0 && h.bitrateIndex() != 15
}

func (h header) version() int      { return int(h >> 19 & 3) } // 3 is MPEG-1, 2 is MPEG-2, 0 is 2.5
func (h header) layer() int        { return 4 - int(h>>17&3) }
func (h header) checked() bool     { return h&0x10000 == 0 } // two bytes of CRC follow
func (h header) bitrateIndex() int { return int(h >> 12 & 15) }
func (h header) rateIndex() int    { return int(h >> 10 & 3) }
func (h header) padding() int      { return int(h >> 9 & 1) }
func (h header) low() bool         { return h.version() != 3 }

func (h header) channels() int {
	if h>>6&3 == 3 {
		return 1
	}
	return 2
}

func (h header) rateHz() int {
	rateHz := [3]int{44100, 48000, 32000}[h.rateIndex()]
	return [4]int{rateHz / 4, 0, rateHz / 2, rateHz}[h.version()]
}

// kbps is the bit rate by index: layer 3 and layer 2 of MPEG-1, then both of
// the lower rates.
var kbps = [3][15]int{
	{0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
	{0, 32, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384},
	{0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
}

func (h header) bitrate() int {
	row := 3 - h.layer()
	if h.low() {
		row = 2
	}
	return 1000 * kbps[row][h.bitrateIndex()]
}

// frames is how many frames of sound it holds.
func (h header) frames() int {
	if h.low() && h.layer() == 3 {
		return 576
	}
	return 1152
}

// size is that of the whole frame, in bytes.
func (h header) size() int { return h.frames()/8*h.bitrate()/h.rateHz() + h.padding() }

// sideBytes is the size of the side information, which follows the header and
// the CRC.
func (h header) sideBytes() int {
	switch {
	case h.low() && h.channels() == 1:
		return 9
	case h.low() || h.channels() == 1:
		return 17
	}
	return 32
}

// sideAt is where the side information begins in the frame.
func (h header) sideAt() int {
	if h.checked() {
		return 6
	}
	return 4
}

// like tells whether other may be a frame of the same stream: the same
// version, layer, rate and number of channels.
func (h header) like(other header) bool {
	const same = 0xfffe0c00
	return other.valid() && h&same == other&same && h.channels() == other.channels()
}
