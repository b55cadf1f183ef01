// Package pcm is what every decoder below content yields: stereo frames in
// order, and what the file says of itself.
package pcm

import (
	"time"

	"github.com/gopxl/beep/v2"
)

// Format is what a file is, as read from its headers and corrected by what
// was really there.
type Format struct {
	Container string  `json:"container"` // "WAV", "RF64", "AIFF", "AIFC", "FLAC", "Ogg", "MP3", "ffmpeg"
	Codec     string  `json:"codec"`     // "PCM", "float", "FLAC", "Vorbis", "Opus", "MP3"
	RateHz    float64 `json:"rateHz"`
	Channels  int     `json:"channels"` // in the file: 1 or 2; frames are always stereo
	Bits      int     `json:"bits"`     // of a sample; 0 where the codec has no such figure
	Frames    int64   `json:"frames"`   // stated length; -1 where it is not known before the end
}

// Duration is the stated length, negative where it is not known.
func (f Format) Duration() time.Duration {
	if f.Frames < 0 {
		return -1
	}
	return time.Duration(float64(f.Frames) / f.RateHz * float64(time.Second))
}

// A Source is a decoder at work. Its Stream fills a buffer with the next
// frames and returns how many; ok is false at the end or after an error,
// which Err then tells. Mono is given on both channels. Samples beyond full
// scale are kept as far as the codec can hold them. A Source reads only
// forwards, is used by one goroutine, and allocates in proportion to what is
// really in the file, never to what a header claims.
//
// An error is one sentence for a person, without the name of the file.
type Source interface {
	beep.Streamer
	Format() Format
}

// A Seeker is a Source that can go on from any frame, which takes about as
// long from every one. It can do so after an end or an error, too.
type Seeker interface {
	Source
	// SeekFrame makes frame, 0 or above, the next one of Stream. After the
	// last one there is nothing.
	SeekFrame(frame int64) error
}
