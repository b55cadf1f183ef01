package player

import (
	"context"
	"time"

	"github.com/gopxl/beep/v2"

	"strop/dsp"
)

const (
	silentTick  = 10 * time.Millisecond
	silentBlock = 512
	silentGap   = time.Second // a longer wait was the machine's sleep, and is not made up for
)

// Silent is the Output that is heard nowhere. It pulls at the pace of the
// clock, so that positions move on as if there were sound.
type Silent struct{ rateHz float64 }

var _ Output = Silent{}

// NewSilent is silence at a sample rate, in Hz, above 0.
func NewSilent(rateHz float64) Silent { return Silent{rateHz} }

// RateHz is the pace in frames per second.
func (s Silent) RateHz() float64 { return s.rateHz }

// Close does nothing.
func (s Silent) Close() error { return nil }

// Run pulls from src in real time until ctx ends.
func (s Silent) Run(ctx context.Context, src beep.Streamer) error {
	ticker := time.NewTicker(silentTick)
	defer ticker.Stop()
	block := make([]dsp.Frame, silentBlock)
	start, last, pulled := time.Now(), time.Now(), 0
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-ticker.C:
		}
		now := time.Now()
		if now.Sub(last) > silentGap {
			start, pulled = now, 0
		}
		last = now
		due := int(now.Sub(start).Seconds() * s.rateHz)
		for ; pulled < due; pulled += min(silentBlock, due-pulled) {
			src.Stream(block[:min(silentBlock, due-pulled)])
		}
	}
}
