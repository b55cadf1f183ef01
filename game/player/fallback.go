package player

import (
	"context"
	"fmt"
	"sync/atomic"
	"time"

	"github.com/gopxl/beep/v2"

	"strop/dsp"
)

// Fallback plays on a device for as long as one holds, and goes on in silence
// otherwise: no sound card, one that is unplugged, one that comes back at
// another rate, is a sentence to show and never an end.
type Fallback struct {
	open   func() (Output, error)
	retry  time.Duration
	rateHz float64
	out    Output // nil: none
	err    atomic.Pointer[error]
}

var _ Output = (*Fallback)(nil)

// NewFallback opens a device, or falls silent at silentRateHz. The rate that
// this settles stays for good. open is called again whenever the sound has
// been lost for as long as retry; a retry of 0 never does so.
func NewFallback(open func() (Output, error), silentRateHz float64, retry time.Duration) *Fallback {
	f := &Fallback{open: open, retry: retry, rateHz: silentRateHz}
	out, err := open()
	if err != nil {
		f.tell(err)
		return f
	}
	f.out, f.rateHz = out, out.RateHz()
	return f
}

// RateHz is the rate of the first device, or of the silence in its place.
func (f *Fallback) RateHz() float64 { return f.rateHz }

// Err is the sentence that says why there is no sound, nil while there is. It
// may be called at any time.
func (f *Fallback) Err() error {
	if err := f.err.Load(); err != nil {
		return *err
	}
	return nil
}

func (f *Fallback) tell(err error) { f.err.Store(&err) }

// Run plays src until ctx ends, and then returns nil. Before a device takes
// over from silence, src is eased in if it is an Easer.
func (f *Fallback) Run(ctx context.Context, src beep.Streamer) error {
	for ctx.Err() == nil {
		if f.out == nil {
			f.wait(ctx, src)
			f.reopen(ctx, src)
			continue
		}
		if err := f.out.Run(ctx, src); err != nil {
			f.tell(err)
			f.drop()
		}
	}
	return nil
}

// wait is silence until the next try.
func (f *Fallback) wait(ctx context.Context, src beep.Streamer) {
	if f.retry > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, f.retry)
		defer cancel()
	}
	_ = NewSilent(f.rateHz).Run(ctx, src)
}

func (f *Fallback) reopen(ctx context.Context, src beep.Streamer) {
	if ctx.Err() != nil {
		return
	}
	out, err := f.open()
	if err != nil {
		f.tell(err)
		return
	}
	f.out = out
	if out.RateHz() != f.rateHz {
		f.tell(fmt.Errorf("the sound device now runs at %s and not at %s; open the sound again",
			dsp.FormatHz(out.RateHz()), dsp.FormatHz(f.rateHz)))
		f.drop()
		return
	}
	f.err.Store(nil)
	if e, ok := src.(Easer); ok {
		e.Ease()
	}
}

// drop lets go of a device that is of no more use; what it says to that is not
// worth a second sentence.
func (f *Fallback) drop() {
	_ = f.out.Close()
	f.out = nil
}

// Close releases the device, if there is one.
func (f *Fallback) Close() error {
	if f.out == nil {
		return nil
	}
	err := f.out.Close()
	f.out = nil
	return err
}
