package ogg

import (
	"encoding/binary"

	"github.com/pion/opus"

	"strop/content/pcm"
	"strop/dsp"
)

// The rate of all granule positions, and the longest packet, 120 ms.
const (
	opusRateHz   = 48000
	maxOpusFrame = 5760
)

// openOpus reads the headers of an Opus stream: identification and comments.
// Source: RFC 7845, section 5.1.
func (d *decoder) openOpus(id []byte) error {
	if len(id) < 19 || id[8]>>4 != 0 {
		return pcm.ErrDamaged
	}
	if _, err := d.packets.headers(1); err != nil {
		return err
	}
	d.format = pcm.Format{Container: "Ogg", Codec: opusKind, RateHz: opusRateHz, Channels: int(id[9])}
	if pcm.CheckChannels(d.format.Channels) != nil {
		return nil // Open refuses it
	}
	if id[18] != 0 { // a mapping of channels, which one or two do not need
		return pcm.Unsupported("an Opus file with a channel mapping is not read: save it as WAV or FLAC")
	}
	dec, err := opus.NewDecoderWithOutput(opusRateHz, d.format.Channels)
	if err != nil {
		return err
	}
	d.skip = int64(binary.LittleEndian.Uint16(id[10:]))
	d.startGranule = d.skip
	d.codec = &opusCodec{
		dec:       dec,
		channels:  d.format.Channels,
		buf:       make([]float32, maxOpusFrame*d.format.Channels),
		gainRatio: dsp.FromDB(float64(int16(binary.LittleEndian.Uint16(id[16:]))) / 256),
	}
	return nil
}

type opusCodec struct {
	dec       opus.Decoder
	channels  int
	buf       []float32
	gainRatio float64 // of the header, to be applied by whoever plays
}

var _ codec = (*opusCodec)(nil)

func (o *opusCodec) decode(dst []dsp.Frame, packet []byte) ([]dsp.Frame, error) {
	n, err := o.dec.DecodeToFloat32(packet, o.buf)
	if err != nil {
		return dst, err
	}
	from := len(dst)
	dst = appendFrames(dst, o.buf[:n*o.channels], o.channels)
	for i := range dst[from:] {
		dst[from+i][0] *= o.gainRatio
		dst[from+i][1] *= o.gainRatio
	}
	return dst, nil
}
