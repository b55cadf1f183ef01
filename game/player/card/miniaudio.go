//go:build cgo

package card

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"runtime"
	"slices"
	"sync/atomic"
	"syscall"
	"time"
	"unsafe"

	"github.com/gen2brain/malgo"
	"github.com/gopxl/beep/v2"

	"strop/dsp"
	"strop/game/player"
)

// backends are the systems that are tried, in this order. miniaudio's own list
// ends with one that is silent without saying so.
var backends = []malgo.Backend{
	malgo.BackendWasapi, malgo.BackendDsound, malgo.BackendWinmm, malgo.BackendCoreaudio,
	malgo.BackendSndio, malgo.BackendAudio4, malgo.BackendOss,
	malgo.BackendPulseaudio, malgo.BackendAlsa, malgo.BackendJack,
}

const (
	blockFrames = 256
	watch       = 250 * time.Millisecond // how often the device is looked at
	patience    = 6                      // looks without a frame taken until it counts as lost
	stopWithin  = time.Second            // what a device is given to stop
)

// Card is an open device. It plays 32-bit float stereo at the device's own
// rate: nothing behind RateHz resamples, as far as the system tells. Samples
// beyond full scale are clipped.
type Card struct {
	context *malgo.AllocatedContext
	device  *malgo.Device
	report  report
	rateHz  float64

	source  atomic.Pointer[beep.Streamer] // nil: silence, or taken by fill
	frames  atomic.Uint64                 // taken by the device
	stopped chan struct{}                 // the device stopped by itself
	halted  chan struct{}                 // closed when the last Stop has returned
	pipes   chan os.Signal                // swallows SIGPIPE
	block   [blockFrames]dsp.Frame
}

var _ player.Output = (*Card)(nil)

// Devices lists the devices that can play.
func Devices() ([]Device, error) {
	return devices(backends)
}

func devices(backends []malgo.Backend) ([]Device, error) {
	system, err := connect(backends, nil)
	if err != nil {
		return nil, err
	}
	defer release(system)
	infos, err := system.Devices(malgo.Playback)
	if err != nil {
		return nil, fmt.Errorf("the sound devices cannot be listed (%w)", err)
	}
	var all []Device
	for i := range infos {
		if infos[i].ID.String() != discards {
			all = append(all, describe(system, &infos[i]))
		}
	}
	return all, nil
}

// discards is the ID of ALSA's device "null", which nobody would want to hear.
const discards = "6e756c6c"

func connect(backends []malgo.Backend, log malgo.LogProc) (*malgo.AllocatedContext, error) {
	quiet()
	system, err := malgo.InitContext(backends, malgo.ContextConfig{}, log)
	if err != nil {
		return nil, fmt.Errorf("there is no sound system on this machine (%w)", err)
	}
	return system, nil
}

func release(system *malgo.AllocatedContext) {
	_ = system.Uninit()
	system.Free()
}

func describe(system *malgo.AllocatedContext, info *malgo.DeviceInfo) Device {
	d := Device{ID: info.ID.String(), Name: info.Name(), Default: info.IsDefault != 0}
	full, err := system.DeviceInfo(malgo.Playback, info.ID, malgo.Shared)
	if err != nil {
		return d // in use, say: it is there, and does not tell its rates
	}
	for _, f := range full.Formats {
		if f.SampleRate > 0 {
			d.RatesHz = append(d.RatesHz, float64(f.SampleRate))
		}
	}
	slices.Sort(d.RatesHz)
	d.RatesHz = slices.Compact(d.RatesHz)
	return d
}

// Open opens a device. Where there is none, or not the one asked for, the error
// says so; nothing else is opened in its place.
//
// Until the Card has let go of the device, SIGPIPE does not end the program: it
// is how some sound systems say that they are gone.
func Open(cfg Config) (*Card, error) { return open(cfg, backends) }

func open(cfg Config, backends []malgo.Backend) (*Card, error) {
	if err := cfg.Validate(); err != nil {
		return nil, err
	}
	c := &Card{stopped: make(chan struct{}, 1), halted: make(chan struct{}), pipes: make(chan os.Signal, 1)}
	close(c.halted)
	system, err := connect(backends, c.report.read)
	if err != nil {
		return nil, err
	}
	c.context = system
	if err := c.openDevice(cfg.filled()); err != nil {
		release(system)
		return nil, err
	}
	signal.Notify(c.pipes, syscall.SIGPIPE)
	return c, nil
}

// openDevice opens at the wanted rate, and a second time at the device's own
// where the first would be resampled on its way.
func (c *Card) openDevice(cfg Config) error {
	id, ratesHz, err := c.find(cfg.Device)
	if err != nil {
		return err
	}
	wanted := uint32(cfg.RateHz)
	if len(ratesHz) > 0 && !slices.Contains(ratesHz, cfg.RateHz) {
		wanted = 0 // the device's own
	}
	err = c.start(cfg, id, wanted)
	if wanted != 0 && (err != nil || c.report.rateHz != int(wanted)) {
		if err == nil {
			c.device.Uninit()
		}
		err = c.start(cfg, id, 0)
	}
	if err != nil {
		return fmt.Errorf("no sound device could be opened (%w); connect one, or choose another", err)
	}
	c.rateHz = float64(c.device.SampleRate())
	return nil
}

// find is the ID of the device of a name, nil for the default, and its rates
// where they are known.
func (c *Card) find(name string) (*malgo.DeviceID, []float64, error) {
	infos, err := c.context.Devices(malgo.Playback)
	if err != nil {
		return nil, nil, fmt.Errorf("the sound devices cannot be listed (%w)", err)
	}
	for i := range infos {
		info := &infos[i]
		if name == "" && info.IsDefault != 0 {
			return nil, describe(c.context, info).RatesHz, nil
		}
		if name != "" && (info.ID.String() == name || info.Name() == name) {
			return &info.ID, describe(c.context, info).RatesHz, nil
		}
	}
	if name != "" {
		return nil, nil, fmt.Errorf("the sound device %q is not there; connect it, or choose another", name)
	}
	return nil, nil, nil
}

// start makes the device ready, at the rate it likes where rateHz is 0.
func (c *Card) start(cfg Config, id *malgo.DeviceID, rateHz uint32) (err error) {
	dc := malgo.DefaultDeviceConfig(malgo.Playback)
	dc.SampleRate = rateHz
	dc.PeriodSizeInFrames = uint32(cfg.PeriodFrames)
	dc.Periods = uint32(cfg.Periods)
	dc.Playback.Format = malgo.FormatF32
	dc.Playback.Channels = 2
	dc.NoPreSilencedOutputBuffer = 1
	dc.NoFixedSizedCallback = 1 // any size will do: one buffer less
	dc.NoDisableDenormals = 1   // the bits are those of a file
	dc.Alsa.NoAutoResample = 1
	dc.Wasapi.NoAutoConvertSRC = 1
	dc.Wasapi.NoAutoStreamRouting = 1 // a device that changes is a new one, with its own rate
	var pin runtime.Pinner
	defer pin.Unpin()
	if id != nil {
		pin.Pin(id)
		dc.Playback.DeviceID = unsafe.Pointer(id)
	}
	c.report = report{}
	c.device, err = malgo.InitDevice(c.context.Context, dc, malgo.DeviceCallbacks{Data: c.fill, Stop: c.noteStop})
	c.report.done = true
	return err
}

// RateHz is the rate that the device runs at.
func (c *Card) RateHz() float64 { return c.rateHz }

// Name is the device's, for a person; empty where it has none.
func (c *Card) Name() string { return c.report.name }

// Buffer is what the device granted of what was asked for; 0 where the system
// does not tell.
func (c *Card) Buffer() (periodFrames, periods int) {
	return c.report.periodFrames, c.report.periods
}

// LatencyMS is the time that a full buffer plays. What the driver, the
// converter and a wireless link add is not known to anybody here.
func (c *Card) LatencyMS() float64 {
	return 1000 * float64(c.report.periodFrames*c.report.periods) / c.rateHz
}

var (
	errGone    = errors.New("the sound device is gone; the music goes on unheard until one is connected")
	errStalled = errors.New("the sound device takes no more sound; the music goes on unheard until it does")
)

// Run plays src until ctx ends. It cuts off what sounds then, so src is faded
// out before. A device that is unplugged, that takes no frame for 1.5 s or far
// more of them than it can play, is an error; the Card is then to be closed, and
// another one opened.
func (c *Card) Run(ctx context.Context, src beep.Streamer) error {
	select {
	case <-c.stopped:
	default:
	}
	c.source.Store(&src)
	if err := c.device.Start(); err != nil {
		c.detach()
		return fmt.Errorf("the sound device does not start (%w)", err)
	}
	err := c.watch(ctx)
	c.detach()
	c.halt()
	return err
}

// watch waits for the end of ctx or of the device. A device that is gone does
// not always say so: some take no more frames, some take them all at once. So
// the frames are counted against the clock.
func (c *Card) watch(ctx context.Context) error {
	ticker := time.NewTicker(watch)
	defer ticker.Stop()
	last, at, idle := c.frames.Load(), time.Now(), 0
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-c.stopped:
			return errGone
		case <-ticker.C:
		}
		taken, now := c.frames.Load()-last, time.Now()
		if idle++; taken > 0 {
			idle = 0
		}
		switch {
		case idle == patience:
			return errStalled
		case float64(taken) > c.rateHz*(2*now.Sub(at).Seconds()+1):
			return errGone
		}
		last, at = last+taken, now
	}
}

// detach takes the source back. fill has it for as long as it fills one block,
// so this is a short wait, if any.
func (c *Card) detach() {
	for c.source.Swap(nil) == nil {
		time.Sleep(50 * time.Microsecond)
	}
}

// halt stops the device. One that hangs is left behind: the program goes on.
func (c *Card) halt() {
	halted := make(chan struct{})
	c.halted = halted
	go func() {
		_ = c.device.Stop()
		close(halted)
	}()
	within(stopWithin, halted)
}

func within(d time.Duration, done <-chan struct{}) bool {
	select {
	case <-done:
		return true
	case <-time.After(d):
		return false
	}
}

// Close lets go of the device.
func (c *Card) Close() error {
	closed := make(chan struct{})
	go func() {
		<-c.halted
		c.device.Uninit()
		release(c.context)
		signal.Stop(c.pipes)
		close(closed)
	}()
	if !within(stopWithin, closed) {
		return errors.New("the sound device does not answer; it was left behind")
	}
	return nil
}

// noteStop is called by miniaudio when the device stops, asked to or not.
func (c *Card) noteStop() {
	select {
	case c.stopped <- struct{}{}:
	default:
	}
}

// fill is called by miniaudio, on its own thread, for the next n frames.
func (c *Card) fill(out, _ []byte, n uint32) {
	samples := unsafe.Slice((*float32)(unsafe.Pointer(unsafe.SliceData(out))), 2*int(n))
	src := c.source.Swap(nil)
	if src == nil {
		clear(samples)
		return
	}
	for len(samples) > 0 {
		block := c.block[:min(blockFrames, len(samples)/2)]
		got, _ := (*src).Stream(block)
		clear(block[got:])
		narrow(samples, block)
		samples = samples[2*len(block):]
	}
	c.frames.Add(uint64(n))
	c.source.Store(src)
}

// narrow rounds frames to the interleaved samples of a device.
func narrow(samples []float32, block []dsp.Frame) {
	samples = samples[:2*len(block)]
	for i, f := range block {
		samples[2*i], samples[2*i+1] = float32(f[0]), float32(f[1])
	}
}
