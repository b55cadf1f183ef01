package wav

import (
	"encoding/binary"
	"fmt"

	"strop/content/linear"
	"strop/content/pcm"
)

// The sizes of a format chunk, and the codecs it may name. Sources:
// Multimedia Programming Interface and Data Specifications 1.0, 1991, chapter
// 3, WAVEFORMAT; Microsoft, mmreg.h (both from memory).
const (
	plainBytes      = 16 // WAVEFORMAT with the bits of PCM
	extensibleBytes = 40 // WAVEFORMATEXTENSIBLE

	tagPCM        = 1
	tagFloat      = 3
	tagExtensible = 0xfffe
)

// others is what people call the codecs that are not read.
var others = map[uint16]string{
	2: "ADPCM", 6: "A-law", 7: "mu-law", 0x11: "IMA ADPCM", 0x31: "GSM", 0x50: "MPEG", 0x55: "MP3",
}

// waveGUID is the end of a sub-format that stands for a codec of 16 bits.
const waveGUID = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"

// codec is what a format chunk says.
type codec struct {
	name   string
	rateHz float64
	bits   int
	layout linear.Layout
}

// parseCodec reads a format chunk.
//
//	0 codec   2 channels   4 rate   8 bytes a second   12 bytes a frame
//	14 bits   18 valid bits   20 speakers   24 sub-format
func parseCodec(b []byte, order binary.ByteOrder) (codec, error) {
	if len(b) < plainBytes {
		return codec{}, pcm.ErrDamaged
	}
	channels := int(order.Uint16(b[2:]))
	if err := pcm.CheckChannels(channels); err != nil {
		return codec{}, err
	}
	tag, bits := order.Uint16(b), int(order.Uint16(b[14:]))
	c := codec{rateHz: float64(order.Uint32(b[4:])), bits: bits}
	if tag == tagExtensible {
		if len(b) < extensibleBytes {
			return codec{}, pcm.ErrDamaged
		}
		tag = subFormat(b[24:], order)
		c.bits = validBits(bits, int(order.Uint16(b[18:])))
	}
	name, err := codecName(tag)
	if err != nil {
		return codec{}, err
	}
	c.name = name
	c.layout = linear.Layout{
		Bytes: (bits + 7) / 8, Float: tag == tagFloat, Biased: true,
		BigEndian: order == binary.BigEndian, Channels: channels,
	}
	return c, checkLayout(c.layout, bits, int(order.Uint16(b[12:])))
}

// validBits are those of a sample that matter; a statement that cannot be true
// is passed over.
func validBits(bits, stated int) int {
	if stated == 0 || stated > bits {
		return bits
	}
	return stated
}

// subFormat is the codec of an extensible format, 0 where it is not one of 16
// bits.
func subFormat(guid []byte, order binary.ByteOrder) uint16 {
	if string(guid[2:16]) != waveGUID {
		return 0
	}
	return order.Uint16(guid)
}

func codecName(tag uint16) (string, error) {
	switch tag {
	case tagPCM:
		return "PCM", nil
	case tagFloat:
		return "float", nil
	}
	name, ok := others[tag]
	if !ok {
		name = fmt.Sprintf("codec %d", tag)
	}
	return "", pcm.Unsupported(fmt.Sprintf("a WAV file in %s is not read: save it as PCM or float", name))
}

// checkLayout compares the bytes of a frame with what the bits ask for.
func checkLayout(l linear.Layout, bits, frameBytes int) error {
	switch {
	case bits == 0, l.Float && bits%8 != 0:
		return pcm.ErrDamaged
	case frameBytes != l.FrameBytes():
		return pcm.Unsupported(fmt.Sprintf("frames of %d bytes cannot hold %d bits in %d channels: save it anew", frameBytes, bits, l.Channels))
	}
	return nil
}
