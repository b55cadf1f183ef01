package player

import (
	"context"

	"github.com/gopxl/beep/v2"
)

// Output is where frames go: a sound card, a file, nothing.
type Output interface {
	// RateHz is the sample rate at which frames are taken, constant.
	RateHz() float64

	// Run pulls from src until ctx ends, and then returns nil; or until the
	// output fails or has had enough, and then says why in one sentence. Once
	// it has returned, it does not touch src. It runs once at a time.
	Run(ctx context.Context, src beep.Streamer) error

	// Close releases the output. It is not called during Run.
	Close() error
}

// Easer is a source that can come in again from silence. An Output that changes
// over to another device asks for it beforehand.
type Easer interface{ Ease() }
