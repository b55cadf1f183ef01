package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"strop/dsp"
)

// rendering is a take on its way to stems.
type rendering struct {
	take
	ctx      context.Context
	progress func(share float64)
	total    float64 // steps
	done     atomic.Int64
	lock     sync.Mutex // of progress
	tracks   map[*sourceScore]track
	notes    map[*sourceScore][]event
	kernels  kernels
	samples  samples
	stems    []Stem
	peaks    []float64 // of the stems as they came
}

// render plays the take: the same one gives the same stems.
func (t take) render(ctx context.Context, progress func(share float64)) ([]Stem, error) {
	r := &rendering{take: t, ctx: ctx, progress: progress, tracks: map[*sourceScore]track{}, notes: map[*sourceScore][]event{}}
	blocks := (t.frames() + sessionBlock - 1) / sessionBlock
	r.total = float64(len(t.sources)*sourceSteps + len(t.rooms)*blocks + len(t.stems)*stemSteps)
	if err := r.playAll(); err != nil {
		return nil, err
	}
	if err := r.record(); err != nil {
		return nil, err
	}
	return r.stems, r.finish()
}

// How much of the work is a source, and the delivery of a stem, in blocks of a
// room.
const sourceSteps, stemSteps = 150, 60

// step tells of work done, and whether to go on.
func (r *rendering) step(n int) error {
	done := r.done.Add(int64(n))
	if r.progress != nil && (n > 1 || done%64 == 0) {
		r.lock.Lock()
		r.progress(min(1, float64(r.done.Load())/r.total)) // never less than before
		r.lock.Unlock()
	}
	return r.ctx.Err()
}

// together calls do for 0 to n−1, as many at a time as there are processors,
// and gives the first error in order.
func together(n int, do func(i int) error) error {
	errs := make([]error, n)
	var all sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		free <- struct{}{}
		all.Go(func() {
			errs[i] = do(i)
			<-free
		})
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// playAll makes the tracks of all sources, then those of the amplifiers, each
// with a peak of its level.
func (r *rendering) playAll() error {
	tracks := make([]track, len(r.sources))
	notes := make([][]event, len(r.sources))
	for _, amps := range []bool{false, true} {
		err := together(len(r.sources), func(i int) (err error) {
			src := r.sources[i]
			if (src.kind == "amp") != amps || r.ctx.Err() != nil {
				return r.ctx.Err()
			}
			tracks[i], notes[i], err = r.play(src, r.chanceOf(i))
			if err != nil {
				return fmt.Errorf("source %s: %w", src.name, err)
			}
			return r.step(sourceSteps)
		})
		if err != nil {
			return err
		}
		for i, src := range r.sources {
			r.tracks[src], r.notes[src] = tracks[i], notes[i]
		}
	}
	r.samples = samples{}
	return nil
}

// chanceOf is the chance of the i-th source: its own, or that of the one that
// the same hands play.
func (r *rendering) chanceOf(i int) *rand.Rand {
	if src := r.sources[i]; src.same {
		i = slices.Index(r.sources, r.source(src.plays))
	}
	return r.chance(i)
}

func (r *rendering) play(src *sourceScore, chance *rand.Rand) (track, []event, error) {
	if src.kind == "amp" {
		fed := r.source(src.amp.of)
		in := track{append([]float64(nil), r.tracks[fed][0]...)}
		in.setPeak(0)
		out := track{src.amp.play(in[0])}
		out.setPeak(src.levelDB)
		return out, nil, nil
	}
	events := r.events(src, chance)
	dst := newTrack(src.channels(), r.frames())
	var err error
	switch src.kind {
	case "string":
		src.playStrings(dst, events, chance)
	case "synth":
		src.playSynth(dst, events, chance)
	case "voice":
		var words map[string]*syllable
		if words, err = r.words(events); err == nil {
			src.playVoice(dst, events, words, chance)
		}
	default:
		err = r.playSamples(src, dst, events, chance)
	}
	if err != nil {
		return nil, nil, err
	}
	dst.setPeak(src.levelDB)
	return dst, events, nil
}

// channels is 2 for a source that is recorded or made in stereo.
func (src *sourceScore) channels() int {
	switch {
	case src.room != nil || src.side > 0:
		return 1
	case src.kind == "synth":
		return src.synth.channels()
	}
	for _, snd := range src.sounds {
		if n, err := sampleChannels(snd.samples[0]); err == nil && n == 2 {
			return 2
		}
	}
	return 1
}

// setPeak scales all channels alike. A track of a source that does not play in
// this take stays silent.
func (t track) setPeak(peakDB float64) {
	peak := 0.0
	for _, x := range t {
		peak = max(peak, peakOf(x))
	}
	ratio := dsp.FromDB(peakDB) / max(silence, peak)
	for _, x := range t {
		for i := range x {
			x[i] *= ratio
		}
	}
}

// record fills the stems: microphones room by room, lines from their source.
func (r *rendering) record() error {
	r.label()
	byScore := map[*stemScore]int{}
	for i, st := range r.score.stems {
		byScore[st] = i
		for range r.stems[i].Channels {
			r.stems[i].PCM = append(r.stems[i].PCM, make([]float32, r.frames()))
		}
	}
	for _, rs := range r.rooms {
		if len(rs.mics) == 0 {
			continue
		}
		var tracks [][]float64
		for _, src := range rs.sources {
			tracks = append(tracks, r.tracks[src][0])
		}
		var dst [][]float32
		for _, mic := range rs.mics {
			dst = append(dst, r.stems[byScore[mic]].PCM[0])
		}
		if err := newSession(rs, tracks).record(dst, func() error { return r.step(1) }); err != nil {
			return err
		}
	}
	return nil
}

// finish sets levels and adds noise floors.
func (r *rendering) finish() error {
	for i, st := range r.score.stems {
		if !st.mic {
			r.stems[i].plug(st, r.tracks[st.of])
		}
	}
	r.peaks = make([]float64, len(r.stems))
	together(len(r.stems), func(i int) error {
		r.stems[i].couple()
		r.peaks[i] = r.stems[i].peak()
		return nil
	})
	hiss, mains := newHiss(r.frames(), r.seed), newMains()
	return together(len(r.stems), func(i int) error {
		st := r.score.stems[i]
		ratio := dsp.FromDB(st.peakDB) / max(silence, r.pairPeak(i))
		for c := range r.stems[i].PCM {
			r.stems[i].deliver(c, ratio, hiss.from(2*i+c, dsp.FromDB(st.floorDB)), hum{mains, dsp.FromDB(st.humDB)})
		}
		return r.step(stemSteps)
	})
}
