package ogg

import (
	"encoding/binary"

	"github.com/jfreymuth/vorbis"

	"strop/content/pcm"
	"strop/dsp"
)

// openVorbis reads the headers of a Vorbis stream: identification, comments
// (which are of no use here), setup.
func (d *decoder) openVorbis(id []byte) error {
	rest, err := d.packets.headers(2)
	if err != nil {
		return err
	}
	// Vorbis I specification, 4.2.2.
	if len(id) < 30 || id[28]&15 < 6 || id[28]>>4 > 13 || id[28]&15 > id[28]>>4 {
		return pcm.ErrDamaged
	}
	d.format = pcm.Format{
		Container: "Ogg", Codec: vorbisKind, Channels: int(id[11]), RateHz: float64(binary.LittleEndian.Uint32(id[12:])),
	}
	if pcm.CheckChannels(d.format.Channels) != nil {
		return nil // Open refuses it
	}
	if err := checkSetup(rest[1]); err != nil {
		return err
	}
	v := &vorbisCodec{}
	if err := v.dec.ReadHeader(id); err != nil {
		return err
	}
	if err := v.dec.ReadHeader(rest[1]); err != nil {
		return err
	}
	if d.format.RateHz == 0 || !v.dec.HeadersRead() {
		return pcm.ErrDamaged
	}
	v.buf = make([]float32, v.dec.BufferSize())
	d.codec = v
	return nil
}

type vorbisCodec struct {
	dec vorbis.Decoder
	buf []float32
}

var _ codec = (*vorbisCodec)(nil)

func (v *vorbisCodec) decode(dst []dsp.Frame, packet []byte) ([]dsp.Frame, error) {
	if len(packet) == 0 {
		return dst, nil // Vorbis I specification, A.2: such a packet holds no sound
	}
	samples, err := v.dec.DecodeInto(packet, v.buf)
	if err != nil {
		return dst, err
	}
	return appendFrames(dst, samples, v.dec.Channels()), nil
}

// appendFrames appends interleaved samples of one or two channels.
func appendFrames(dst []dsp.Frame, samples []float32, channels int) []dsp.Frame {
	for i := 0; i+channels <= len(samples); i += channels {
		dst = append(dst, dsp.Frame{float64(samples[i]), float64(samples[i+channels-1])})
	}
	return dst
}
