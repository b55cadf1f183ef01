package intake

import (
	"context"
	"math"
	"slices"

	"strop/dsp"
	"strop/dsp/measure"
)

// finding is a stem as it is being measured, and what it takes to compare it
// with others.
type finding struct {
	Stem
	frames   int64
	dcs      []float64 // of the stretches that sound, the worse channel
	edgeDBFS float64   // how loud the stretch was that BandEdgeHz is of
	slow     int       // stretches that were looked at with the slow meters
	cents    circle
	onsetsS  []float64
	sketch   sketch
	seconds  []float64 // power of each second
	oneSided bool      // one of two channels is empty
}

// How many stretches the slow meters look at, and the shortest that is worth it.
const (
	slowStretches = 4
	slowLeastS    = 4.0
)

// stem measures one.
func (c *check) stem(ctx context.Context, i int) *finding {
	s := c.sheet.Stems[i]
	f := &finding{Stem: Stem{
		Name: s.Name, Path: s.Path, Role: s.Role, Channels: s.Channels, RateHz: s.RateHz, Bits: s.Bits,
		RailDBFS: silence, FloorDBFS: silence, RumbleDBFS: silence, HissDBFS: silence, MainsDBFS: silence, DCDBFS: silence,
		SamplePeakDBFS: silence, TruePeakDBTP: silence, IntegratedLUFS: silence, HeadDBFS: silence, TailDBFS: silence,
		Clipped: noPlaces(), Clicks: noPlaces(), Dropouts: noPlaces(), Notes: []string{},
	}, edgeDBFS: math.Inf(-1)}
	src, err := c.open(ctx, i)
	if err != nil {
		f.Notes = append(f.Notes, sentence(err))
		f.SilentPct, f.EmptyPct = 100, 100
		return f
	}
	defer src.close()
	f.RateHz, f.Channels, f.Container, f.Codec = src.format.RateHz, src.format.Channels, src.format.Container, src.format.Codec
	whole := newLevels(src.format)
	err = eachStretch(src, func(s stretch) {
		whole.add(s.core())
		f.sketch.add(s.core(), f.RateHz)
		if whole.stretchPeak > 0 {
			f.look(s, i, max(1, int(math.Ceil(float64(src.format.Frames)/f.RateHz/stretchS))))
		}
		f.frames += int64(len(s.core()))
		c.tell(float64(len(s.core())) / f.RateHz)
	})
	if err != nil && ctx.Err() == nil {
		f.Notes = append(f.Notes, sentence(err))
	}
	whole.tell(f)
	f.finish()
	return f
}

func noPlaces() Places { return Places{AtS: []float64{}} }

var silence = measure.Level(math.Inf(-1))

// look measures a stretch that is not empty.
func (f *finding) look(s stretch, stem, stretches int) {
	at := func(frame int) float64 { return float64(s.start+int64(frame)) / f.RateHz }
	f.clipping(s, at)
	for _, e := range measure.ClicksOf(s.frames, f.RateHz) {
		if s.inside(e.Frame) && !strikes(s.frames, e, f.RateHz) {
			f.Clicks.add(at(e.Frame))
		}
	}
	for _, e := range measure.DropoutsOf(s.frames, f.RateHz) {
		if s.inside(e.Frame) {
			f.Dropouts.add(at(e.Frame))
		}
	}
	dc := measure.DCOffset(s.core())
	f.dcs = append(f.dcs, max(math.Abs(dc[0]), math.Abs(dc[1])))
	if evenly(s.number, stretches, onsetStretches) {
		for _, onset := range measure.Onsets(s.core(), f.RateHz) {
			f.onsetsS = append(f.onsetsS, at(s.from)+onset)
		}
	}
	if f.slow*stretches < slowStretches*(s.number+1) && (f.slow == 0 || len(s.core()) > int(slowLeastS*f.RateHz)) {
		f.slow++
		f.lookSlowly(s.core())
	}
}

// How a stroke is told from a click. Our own choices.
const (
	strokeS  = 0.02 // that is compared before and after
	strokeDB = 6.0
)

// strikes reports whether a click begins a sound: a stick on a skin does, and
// after it there is more than before.
func strikes(frames []dsp.Frame, e measure.Event, rateHz float64) bool {
	n, apart := int(strokeS*rateHz), int(strokeS/5*rateHz)
	before := frames[max(0, e.Frame-apart-n):max(0, e.Frame-apart)]
	from := min(len(frames), e.Frame+e.Frames+apart)
	return measure.RMSDBFS(frames[from:min(len(frames), from+n)]) > measure.RMSDBFS(before)+strokeDB
}

// evenly reports whether one of n is among some of them that are spread over
// all.
func evenly(number, n, some int) bool {
	return n <= some || number*some/n != (number+1)*some/n
}

// clipping adds the places where a stretch is clipped, and keeps the rail of
// the highest.
func (f *finding) clipping(s stretch, at func(int) float64) {
	found := measure.ClippingOf(s.core())
	for _, run := range found.Runs {
		f.Clipped.add(at(s.from + run.Frame))
	}
	if len(found.Runs) > 0 {
		f.RailDBFS = max(f.RailDBFS, measure.Level(found.RailDBFS))
	}
	f.ClippedPct += found.SharePct * float64(len(s.core())) // a share once all is read
}

// lookSlowly measures what takes long.
func (f *finding) lookSlowly(frames []dsp.Frame) {
	if mains := measure.MainsOf(frames, f.RateHz); measure.Level(mains.LevelDBFS) > f.MainsDBFS {
		f.MainsHz, f.MainsDBFS, f.Buzz = mains.LineHz, measure.Level(mains.LevelDBFS), mains.Buzz()
	}
	noise := measure.NoiseFloorOf(frames, f.RateHz)
	for _, level := range []struct {
		of  *measure.Level
		now float64
	}{{&f.FloorDBFS, noise.LevelDBFS}, {&f.RumbleDBFS, noise.RumbleDBFS}, {&f.HissDBFS, noise.HissDBFS}} {
		if !math.IsInf(level.now, 0) && (*level.of == silence || measure.Level(level.now) < *level.of) {
			*level.of = measure.Level(level.now)
		}
	}
	if rms := measure.RMSDBFS(frames); rms > f.edgeDBFS {
		f.edgeDBFS, f.BandEdgeHz = rms, measure.BandEdgeHz(frames, f.RateHz)
	}
	if pitched(f.Role) {
		f.cents.listen(frames, f.RateHz)
	}
}

// finish turns sums into results.
func (f *finding) finish() {
	f.ClippedPct /= float64(max(f.frames, 1))
	f.DurationS = float64(f.frames) / f.RateHz
	if len(f.dcs) > 0 {
		slices.Sort(f.dcs)
		f.DCDBFS = levelOf(f.dcs[len(f.dcs)/2])
	}
	f.Tuning = f.cents.tuning()
}
