// Package intake looks a song over as an engineer does who is asked to take it
// on: what each stem is, what is wrong with it, how it lies to the others.
//
// It measures and does not judge: every result is a fact in units. What a job
// can bear is for whoever takes it to say.
package intake

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"strop/content"
	"strop/dsp/measure"
)

// Report is what was found. As JSON a level that is not finite, that of
// silence, is null.
type Report struct {
	Name      string   `json:"name"`
	Path      string   `json:"path,omitempty"`
	Demo      string   `json:"demo,omitempty"` // name of a demo song
	Hash      string   `json:"hash"`
	RateHz    float64  `json:"rateHz"`
	DurationS float64  `json:"durationS"` // of the longest stem
	Stems     []Stem   `json:"stems"`
	Pairs     []Pair   `json:"pairs"`
	Alike     []Alike  `json:"alike"`
	Notes     []string `json:"notes"` // of the whole, a sentence each
}

// Stem is what was found in one stem.
//
//	Bits          of a sample in the file; 0 where it has no such figure
//	BitsUsed      how many of them are ever used; 0 where a sample needs more than 32
//	OverSamples   samples above full scale, which a float file may hold
//	RailDBFS      level at which it is clipped; see measure.ClippingOf
//	DCDBFS        steady offset of the worse channel, as a level
//	FloorDBFS     noise in the quietest stretch that is not empty; see measure.NoiseFloorOf
//	MainsHz       frequency of hum or buzz; 0: none was found
//	SilentPct     share of the time in which it is under −60 dBFS
//	EmptyPct      share of the time in which all samples are 0
//	Clicks        what does not begin a sound; a very short stroke may be among them
//	FirstS LastS  where it is first and last above −60 dBFS
//	HeadDBFS      peak of its first 5 ms; TailDBFS: of its last 5 ms
//	Correlation   of the channels; 0 for a mono file
//	OneSignal     a stereo file with the same on both channels
//	BandEdgeHz    above it there is nothing, as lossy codecs leave it; 0: no such edge
type Stem struct {
	Name      string       `json:"name"`
	Path      string       `json:"path,omitempty"`
	Role      content.Role `json:"role"`
	Container string       `json:"container"`
	Codec     string       `json:"codec"`
	Channels  int          `json:"channels"`
	RateHz    float64      `json:"rateHz"`
	Bits      int          `json:"bits"`
	BitsUsed  int          `json:"bitsUsed"`
	DurationS float64      `json:"durationS"`

	SamplePeakDBFS measure.Level `json:"samplePeakDBFS"`
	TruePeakDBTP   measure.Level `json:"truePeakDBTP"`
	IntegratedLUFS measure.Level `json:"integratedLUFS"`
	OverSamples    int           `json:"overSamples"`
	RailDBFS       measure.Level `json:"railDBFS"`
	ClippedPct     float64       `json:"clippedPct"`
	Clipped        Places        `json:"clipped"`
	Clicks         Places        `json:"clicks"`
	Dropouts       Places        `json:"dropouts"`
	DCDBFS         measure.Level `json:"dcDBFS"`
	FloorDBFS      measure.Level `json:"floorDBFS"`
	RumbleDBFS     measure.Level `json:"rumbleDBFS"`
	HissDBFS       measure.Level `json:"hissDBFS"`
	MainsHz        float64       `json:"mainsHz"`
	MainsDBFS      measure.Level `json:"mainsDBFS"`
	Buzz           bool          `json:"buzz"`
	SilentPct      float64       `json:"silentPct"`
	EmptyPct       float64       `json:"emptyPct"`
	FirstS         float64       `json:"firstS"`
	LastS          float64       `json:"lastS"`
	HeadDBFS       measure.Level `json:"headDBFS"`
	TailDBFS       measure.Level `json:"tailDBFS"`
	Correlation    float64       `json:"correlation"`
	OneSignal      bool          `json:"oneSignal"`
	BandEdgeHz     float64       `json:"bandEdgeHz"`
	Tuning         *Tuning       `json:"tuning"` // null where no pitch was found
	Timing         *Timing       `json:"timing"` // null where there was nothing to compare with
	Notes          []string      `json:"notes"`  // a sentence each
}

// Places are where something was found.
type Places struct {
	Count int       `json:"count"`
	AtS   []float64 `json:"atS"` // of the first of them
}

// mostPlaces is how many places are told one by one.
const mostPlaces = 20

func (p *Places) add(atS float64) {
	if p.Count++; p.Count <= mostPlaces {
		p.AtS = append(p.AtS, atS)
	}
}

// Silent reports whether a stem is under −60 dBFS from end to end.
func (s Stem) Silent() bool { return s.SilentPct >= 100 }

// Check measures a song. It reads every stem once, a stretch of 20 s at a time,
// as many stems at once as there are processors, and takes about 80 MB for
// each at 48 kHz. Peaks, clipping, clicks, dropouts and silence are looked for
// everywhere; hum, noise, pitch and onsets in stretches from all over the song.
// progress may be nil. A stem that cannot be read to its end says so in its
// notes; the error is that of ctx, or of a song that cannot be prepared.
func Check(ctx context.Context, m *content.Multitrack, progress func(share float64)) (Report, error) {
	if err := m.Ready(ctx); err != nil {
		return Report{}, err
	}
	c := &check{m: m, sheet: m.Sheet(), progress: progress}
	c.found = make([]*finding, len(c.sheet.Stems))
	c.together(ctx, len(c.found), func(i int) { c.found[i] = c.stem(ctx, i) })
	if err := ctx.Err(); err != nil {
		return Report{}, err
	}
	return c.report(ctx)
}

// check is one at work.
type check struct {
	m     *content.Multitrack
	sheet content.Sheet
	found []*finding

	mu       sync.Mutex
	progress func(share float64)
	doneS    float64
}

// together calls do for 0 to n−1, as many at a time as there are processors.
func (c *check) together(ctx context.Context, n int, do func(i int)) {
	var all sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		free <- struct{}{}
		all.Go(func() {
			if ctx.Err() == nil {
				do(i)
			}
			<-free
		})
	}
	all.Wait()
}

// tell adds what was looked at of a stem.
func (c *check) tell(seconds float64) {
	if c.progress == nil {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.doneS += seconds
	allS := 0.0
	for _, s := range c.sheet.Stems {
		allS += float64(s.Frames) / s.RateHz
	}
	c.progress(min(1, c.doneS/max(allS, 1e-9)))
}

// report puts together what was found of each, and compares them.
func (c *check) report(ctx context.Context) (Report, error) {
	r := Report{
		Name: c.sheet.Name, Path: c.sheet.Path, Demo: c.sheet.Demo, Hash: c.sheet.Hash, RateHz: c.sheet.RateHz,
		Stems: []Stem{}, Pairs: []Pair{}, Alike: c.alike(), Notes: []string{},
	}
	for _, warning := range c.sheet.Warnings {
		r.Notes = append(r.Notes, warning+".")
	}
	c.time()
	for _, f := range c.found {
		r.DurationS = max(r.DurationS, f.DurationS)
	}
	for _, f := range c.found {
		f.Notes = slices.Insert(f.Notes, 0, f.notes(r.RateHz, r.DurationS)...)
		r.Stems = append(r.Stems, f.Stem)
	}
	pairs, err := c.pairs(ctx)
	if err != nil {
		return r, err
	}
	r.Pairs = append(r.Pairs, pairs...)
	r.Notes = append(r.Notes, c.wholeNotes()...)
	return r, nil
}

// wholeNotes are sentences about all stems together.
func (c *check) wholeNotes() (notes []string) {
	rates, silent := map[float64]int{}, 0
	for _, f := range c.found {
		rates[f.RateHz]++
		if f.Silent() {
			silent++
		}
	}
	if len(rates) > 1 {
		notes = append(notes, fmt.Sprintf("There are %d sample rates among the stems.", len(rates)))
	}
	if silent > 0 {
		notes = append(notes, fmt.Sprintf("%d of %d stems are silent.", silent, len(c.found)))
	}
	return notes
}

// levelOf is a ratio as a level: −Inf for 0.
func levelOf(ratio float64) measure.Level { return measure.Level(20 * math.Log10(ratio)) }
