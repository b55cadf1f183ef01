package content

import (
	"context"
	"fmt"

	"strop/dsp"
	"strop/dsp/measure"
)

// Clip is a loop in hand.
type Clip struct {
	Loop   Loop
	Facts  measure.Facts
	Name   string      // for people: the song and the place in it
	Frames []dsp.Frame // as they are in the material: its ends are not faded
	Fit    Fit         // of the mix in a Multitrack's clip: what can be asked about it
	Stems  []ClipStem  // of a Multitrack's clip; their sum is Frames
	Beats  Beats       // of a Multitrack's clip
}

// Clip is the i-th loop with its frames, measured. It waits until that loop
// is known.
func (l *Loops) Clip(ctx context.Context, i int) (Clip, error) {
	loop, err := l.Loop(ctx, i)
	if err != nil {
		return Clip{}, err
	}
	return l.Find(ctx, loop)
}

// Find is a loop of this material as it was recorded, whether or not it would
// be cut there today. It waits until the loop is decoded.
func (l *Loops) Find(ctx context.Context, loop Loop) (Clip, error) {
	switch {
	case loop.Material != l.m.hash:
		return Clip{}, fmt.Errorf("%s: the loop was cut from another material", l.m.name)
	case loop.RateHz != l.m.RateHz():
		return Clip{}, fmt.Errorf("%s: the loop was cut at %g Hz, the material has %g Hz", l.m.name, loop.RateHz, l.m.RateHz())
	case loop.StartFrame < 0 || loop.Frames <= 0 || loop.StartFrame > MaxFrames || loop.Frames > MaxFrames:
		return Clip{}, fmt.Errorf("%s: there is no loop of %d frames at frame %d", l.m.name, loop.Frames, loop.StartFrame)
	}
	end := int64(loop.StartFrame) + int64(loop.Frames)
	if err := l.m.WaitFrames(ctx, end); err != nil {
		return Clip{}, err
	}
	if done, _ := l.m.Progress(); done < end {
		return Clip{}, fmt.Errorf("%s: it ends before the loop does", l.m.name)
	}
	frames := make([]dsp.Frame, loop.Frames)
	l.m.Frames(frames, int64(loop.StartFrame))
	return Clip{Loop: loop, Facts: l.measured(loop, frames), Name: l.name(loop), Frames: frames}, nil
}

// name is "song.wav 0:12–0:20".
func (l *Loops) name(loop Loop) string {
	start := int64(loop.StartFrame)
	return fmt.Sprintf("%s %s–%s", l.m.name, l.m.clock(start), l.m.clock(start+int64(loop.Frames)))
}

// measured measures each loop once.
func (l *Loops) measured(loop Loop, frames []dsp.Frame) measure.Facts {
	l.mu.Lock()
	facts, known := l.facts[loop]
	l.mu.Unlock()
	if known {
		return facts
	}
	facts = measure.FactsOf(frames, loop.RateHz)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.facts[loop] = facts
	return facts
}
