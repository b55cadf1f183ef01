package content

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"strop/dsp/measure"
)

// Loop says which few seconds of which material: enough to find them again.
type Loop struct {
	Material   string // content hash
	StartFrame int    // at the material's own rate
	Frames     int
	RateHz     float64 // the material's own
}

// The lengths that decide how a material is cut, in seconds.
const (
	leastS   = 2  // anything shorter is refused
	wholeS   = 12 // anything up to this is one loop, as it is
	stretchS = 30 // anything longer is cut stretch by stretch
)

// maxLoops of one material are cut; of more, those spread evenly are kept.
const maxLoops = 24

// Loops are the loops of one material, in its order.
//
// A material of 2 s to 12 s is one loop, as somebody cut it. A longer one is
// looked at in stretches of 30 s, and in each as many loops of 6 s to 10 s are
// cut as fit well: where there is a clear beat, just before onsets and whole
// beats long; elsewhere at quiet moments. None overlap, and none is silent,
// faint against the rest, broken by a gap, or fading out.
//
// Loop 0 depends on nothing after its own stretch, so it is there early; where
// nothing in the first stretch will do, on nothing after the first that has
// one. All others wait for the whole. The same material gives the same loops,
// however fast it is decoded.
//
// All methods may be called from any goroutine.
type Loops struct {
	m *Material

	mu        sync.Mutex
	stretches []hops   // looked at so far
	spans     [][]span // found in each
	whole     []Loop   // nil until the material is known whole
	facts     map[Loop]measure.Facts
}

// FindLoops makes the loops of m. It returns at once: the work is done when
// loops are asked for.
func FindLoops(m *Material) *Loops { return &Loops{m: m, facts: map[Loop]measure.Facts{}} }

// Count is the number of loops, 1 at least. It waits until the material is
// decoded. The error is one sentence if there are none.
func (l *Loops) Count(ctx context.Context) (int, error) {
	loops, err := l.all(ctx)
	return len(loops), err
}

// Loop is the i-th loop, from 0. It waits until that loop is known.
func (l *Loops) Loop(ctx context.Context, i int) (Loop, error) {
	if i == 0 {
		return l.first(ctx)
	}
	loops, err := l.all(ctx)
	if err != nil {
		return Loop{}, err
	}
	if i < 0 || i >= len(loops) {
		return Loop{}, fmt.Errorf("%s: there is no loop %d; there are %d, from 0", l.m.name, i, len(loops))
	}
	return loops[i], nil
}

func (l *Loops) first(ctx context.Context) (Loop, error) {
	for k := 0; ; k++ {
		start := l.stretchFrame(k)
		if err := l.m.WaitFrames(ctx, l.stretchFrame(k+1)); err != nil {
			return Loop{}, err
		}
		done, _ := l.m.Progress()
		if done <= max(start, l.seconds(wholeS)) {
			loops, err := l.all(ctx)
			if err != nil {
				return Loop{}, err
			}
			return loops[0], nil
		}
		if spans := l.stretch(k); len(spans) > 0 {
			return l.loop(spans[0].start, spans[0].end), nil
		}
	}
}

func (l *Loops) all(ctx context.Context) ([]Loop, error) {
	if err := l.m.Wait(ctx); err != nil {
		return nil, err
	}
	if err := l.m.Err(); errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return nil, err // where it was stopped is chance
	}
	l.mu.Lock()
	whole := l.whole
	l.mu.Unlock()
	if whole != nil {
		return whole, nil
	}
	whole, err := l.find()
	l.mu.Lock()
	defer l.mu.Unlock()
	l.whole = whole
	return whole, err
}

// find cuts a material that is known whole.
func (l *Loops) find() ([]Loop, error) {
	done, _ := l.m.Progress()
	if done < l.seconds(leastS) {
		if err := l.m.Err(); err != nil {
			return nil, fmt.Errorf("%w; a loop needs %d s at least", err, leastS)
		}
		return nil, fmt.Errorf("%s: it lasts %.1f s; a loop needs %d s at least", l.m.name, float64(done)/l.m.RateHz(), leastS)
	}
	if done <= l.seconds(wholeS) {
		h := lookAt(l.m, 0, done)
		if h.longestBelow(0, len(h.power), silentDB) > float64(done)/l.m.RateHz()/2 {
			return nil, l.silent()
		}
		return []Loop{l.loop(0, done)}, nil
	}
	for k := 0; l.stretchFrame(k) < done; k++ {
		l.stretch(k)
	}
	return l.choose()
}

// silent is the error for a material with nothing in it to hear.
func (l *Loops) silent() error {
	return fmt.Errorf("%s: it is silent, or nearly so: choose another file", l.m.name)
}

// stretch finds what is in the k-th stretch, after those before it.
func (l *Loops) stretch(k int) []span {
	l.mu.Lock()
	defer l.mu.Unlock()
	for len(l.spans) <= k {
		done, _ := l.m.Progress()
		next := len(l.spans)
		h := lookAt(l.m, l.stretchFrame(next), min(l.stretchFrame(next+1), done))
		l.stretches = append(l.stretches, h)
		l.spans = append(l.spans, findSpans(l.m, h))
	}
	return l.spans[k]
}

// choose keeps, of all that was found, loop 0 and those that are neither
// faint nor in the final fade, at most maxLoops, spread evenly.
func (l *Loops) choose() ([]Loop, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	loud, fade := loudDB(l.stretches), fadeStart(l.stretches)
	if loud <= floorDB {
		return nil, l.silent()
	}
	var loops []Loop
	for k, spans := range l.spans {
		for _, s := range spans {
			level := levelDB(l.stretches[k].meanPower(s.i, s.j))
			if len(loops) == 0 || (level >= loud-faintDB && s.end <= fade) {
				loops = append(loops, l.loop(s.start, s.end))
			}
		}
	}
	if len(loops) == 0 {
		return nil, fmt.Errorf("%s: nowhere does it sound for %d s without a gap or a fade: choose another file", l.m.name, minLoopS)
	}
	return spread(loops, maxLoops), nil
}

// spread is at most n of loops, the first always, the others evenly.
func spread(loops []Loop, n int) []Loop {
	if len(loops) <= n {
		return loops
	}
	kept := make([]Loop, n)
	for i := range kept {
		kept[i] = loops[i*(len(loops)-1)/(n-1)]
	}
	return kept
}

func (l *Loops) loop(start, end int64) Loop {
	return Loop{Material: l.m.hash, StartFrame: int(start), Frames: int(end - start), RateHz: l.m.RateHz()}
}

func (l *Loops) stretchFrame(k int) int64 { return l.seconds(stretchS) * int64(k) }

func (l *Loops) seconds(s int) int64 { return int64(float64(s) * l.m.RateHz()) }
