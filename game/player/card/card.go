// Package card is the sound card as an Output of package player, through
// miniaudio. It is the one part of the sound that needs cgo; without it the
// package builds, and Open says that there is no sound.
package card

import (
	"fmt"

	"strop/dsp"
)

// Device is one that can play.
type Device struct {
	ID      string    // names it as long as it stays in its socket
	Name    string    // what a person reads
	RatesHz []float64 // that it accepts, rising; none where it does not say
	Default bool      // the one the system plays on
}

// Config is how a device is opened.
type Config struct {
	Device       string  // Device.ID or Device.Name; empty: the system's default
	RateHz       float64 // wanted; where the device runs at another rate, that is taken
	PeriodFrames int     // frames at a time; 0 is DefaultPeriodFrames
	Periods      int     // that the buffer holds; 0 is DefaultPeriods
}

// The buffer that holds on a loaded machine: two periods of 256 frames, 10.7 ms
// at 48 kHz. Two of 128 do on a quiet one.
const (
	DefaultPeriodFrames = 256
	DefaultPeriods      = 2
)

// filled is c with the defaults where it is silent.
func (c Config) filled() Config {
	if c.PeriodFrames == 0 {
		c.PeriodFrames = DefaultPeriodFrames
	}
	if c.Periods == 0 {
		c.Periods = DefaultPeriods
	}
	return c
}

// Validate reports what no device can be asked for: a rate outside the range
// of package dsp, a period outside 32 to 8192 frames, less than 2 periods or
// more than 16.
func (c Config) Validate() error {
	c = c.filled()
	switch {
	case !(c.RateHz >= dsp.MinRateHz && c.RateHz <= dsp.MaxRateHz):
		return fmt.Errorf("a sample rate of %g Hz is outside %d to %d Hz", c.RateHz, dsp.MinRateHz, dsp.MaxRateHz)
	case c.PeriodFrames < 32 || c.PeriodFrames > 8192:
		return fmt.Errorf("a buffer period of %d frames is outside 32 to 8192", c.PeriodFrames)
	case c.Periods < 2 || c.Periods > 16:
		return fmt.Errorf("a buffer of %d periods is outside 2 to 16", c.Periods)
	}
	return nil
}
