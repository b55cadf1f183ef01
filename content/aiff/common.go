package aiff

import (
	"encoding/binary"
	"fmt"
	"strings"

	"strop/content/linear"
	"strop/content/pcm"
)

const (
	plainBytes  = 18 // of the common chunk of AIFF
	commonBytes = 22 // with the name of the compression in AIFF-C
)

// common is what a common chunk says.
type common struct {
	name   string
	rateHz float64
	bits   int
	frames int64
	layout linear.Layout
}

// parseCommon reads a common chunk.
//
//	0 channels   2 frames   6 bits   8 rate   18 compression
func parseCommon(b []byte, kind string) (common, error) {
	if len(b) < plainBytes || kind == "AIFC" && len(b) < commonBytes {
		return common{}, pcm.ErrDamaged
	}
	channels := int(binary.BigEndian.Uint16(b))
	if err := pcm.CheckChannels(channels); err != nil {
		return common{}, err
	}
	c := common{
		frames: int64(binary.BigEndian.Uint32(b[2:])),
		bits:   int(binary.BigEndian.Uint16(b[6:])),
		rateHz: extended(b[8:18]),
	}
	compression := "NONE"
	if kind == "AIFC" {
		compression = string(b[18:22])
	}
	err := c.uncompress(compression)
	c.layout.Channels = channels
	return c, err
}

// uncompress is the layout that the name of a compression stands for. Some of
// them state a number of bits of their own, whatever the chunk says.
func (c *common) uncompress(compression string) error {
	c.name = "PCM"
	c.layout = linear.Layout{Bytes: (c.bits + 7) / 8, BigEndian: true}
	switch compression {
	case "NONE", "twos":
	case "sowt":
		c.layout.BigEndian = false
	case "raw ":
		c.layout.Biased = true
	case "in24":
		c.fix(24)
	case "in32":
		c.fix(32)
	case "fl32", "FL32":
		c.float(32)
	case "fl64", "FL64":
		c.float(64)
	default:
		return pcm.Unsupported(fmt.Sprintf("an AIFF file in %s is not read: save it as PCM or float", name(compression)))
	}
	switch {
	case c.bits == 0:
		return pcm.ErrDamaged
	case c.layout.Biased && c.bits > 8:
		return pcm.Unsupported(fmt.Sprintf("%q samples of %d bits are not read: save it as PCM or float", compression, c.bits))
	}
	return nil
}

func (c *common) fix(bits int) { c.bits, c.layout.Bytes = bits, bits/8 }

func (c *common) float(bits int) {
	c.fix(bits)
	c.name, c.layout.Float = "float", true
}

// name is what people call a compression.
func name(compression string) string {
	switch strings.ToLower(compression) {
	case "ulaw":
		return "mu-law"
	case "alaw":
		return "A-law"
	case "ima4":
		return "IMA ADPCM"
	}
	return fmt.Sprintf("the compression %q", compression)
}
