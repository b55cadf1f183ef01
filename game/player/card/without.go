//go:build !cgo

package card

import (
	"context"
	"errors"

	"github.com/gopxl/beep/v2"

	"strop/game/player"
)

var errWithout = errors.New("this build plays no sound; build it with cgo and a C compiler")

// Devices says that this build plays no sound.
func Devices() ([]Device, error) { return nil, errWithout }

// Open says that this build plays no sound.
func Open(cfg Config) (*Card, error) {
	if err := cfg.Validate(); err != nil {
		return nil, err
	}
	return nil, errWithout
}

// Card is a sound card; this build opens none.
type Card struct{}

var _ player.Output = (*Card)(nil)

func (c *Card) RateHz() float64                          { return 0 }
func (c *Card) Run(context.Context, beep.Streamer) error { return errWithout }
func (c *Card) Close() error                             { return nil }
func (c *Card) Name() string                             { return "" }
func (c *Card) Buffer() (periodFrames, periods int)      { return 0, 0 }
func (c *Card) LatencyMS() float64                       { return 0 }
