package content

import (
	"context"
	"fmt"
	"runtime"
	"sync"

	"strop/content/pcm"
	"strop/dsp"
)

// mixBlock is how many frames are mixed at a time: 1.4 s at 48 kHz.
const mixBlock = 1 << 16

// mixPiece is how many frames of a stem are read at a time: few enough to stay
// near the processor.
const mixPiece = 1 << 12

// mixGroup is how many stems one goroutine adds up. It is part of the sound:
// sums in another order round another way.
const mixGroup = 8

// mixdown adds up all stems through their faders.
type mixdown struct {
	m    *Multitrack
	ctx  context.Context
	at   int64
	rest []dsp.Frame
	err  error
}

var _ pcm.Source = (*mixdown)(nil)

// Format is that of the whole.
func (d *mixdown) Format() pcm.Format {
	sheet := d.m.Sheet()
	return pcm.Format{Container: "multitrack", Codec: "mix", RateHz: sheet.RateHz, Channels: 2, Frames: sheet.Frames}
}

// Err is why there is no more.
func (d *mixdown) Err() error { return d.err }

// Stream gives the next frames, once the multitrack is prepared.
func (d *mixdown) Stream(buf [][2]float64) (n int, ok bool) {
	if len(d.rest) == 0 && d.err == nil {
		d.err = d.next()
	}
	n = copy(buf, d.rest)
	d.rest = d.rest[n:]
	return n, n > 0
}

// next mixes the next block.
func (d *mixdown) next() error {
	if err := d.m.Ready(d.ctx); err != nil {
		return err
	}
	sheet := d.m.Sheet()
	n := int(min(mixBlock, sheet.Frames-d.at))
	if n <= 0 {
		return nil
	}
	mix, err := d.m.mixRegion(d.ctx, sheet, d.at, n)
	d.rest = mix
	d.at += int64(n)
	return err
}

// mixRegion is n frames of the mix from start on: the stems in groups, as many
// at a time as there are processors, the groups in order.
func (m *Multitrack) mixRegion(ctx context.Context, sheet Sheet, start int64, n int) ([]dsp.Frame, error) {
	groups := (len(sheet.Stems) + mixGroup - 1) / mixGroup
	mix := make([]dsp.Frame, n)
	sums, errs := make([][]dsp.Frame, groups), make([]error, groups)
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	var all sync.WaitGroup
	for g := range groups {
		free <- struct{}{}
		all.Go(func() {
			sums[g], errs[g] = m.mixGroup(ctx, sheet, g, start, n)
			<-free
		})
	}
	all.Wait()
	for g, sum := range sums {
		if errs[g] != nil {
			return nil, errs[g]
		}
		for i, f := range sum {
			mix[i][0] += f[0]
			mix[i][1] += f[1]
		}
	}
	return mix, nil
}

func (m *Multitrack) mixGroup(ctx context.Context, sheet Sheet, g int, start int64, n int) ([]dsp.Frame, error) {
	sum, buf := make([]dsp.Frame, n), make([]dsp.Frame, mixPiece)
	for i := g * mixGroup; i < min((g+1)*mixGroup, len(sheet.Stems)); i++ {
		left, right := sheet.Faders[i].Ratios()
		if left == 0 && right == 0 {
			continue
		}
		for at := 0; at < n; at += mixPiece {
			piece := buf[:min(mixPiece, n-at)]
			if err := m.tracks.Read(ctx, i, piece, start+int64(at)); err != nil {
				return nil, fmt.Errorf("stem %s: %w", sheet.Stems[i].Name, err)
			}
			addThrough(sum[at:], piece, left, right)
		}
	}
	return sum, nil
}

// addThrough adds frames times the gain of each channel.
func addThrough(sum, frames []dsp.Frame, left, right float64) {
	sum = sum[:len(frames)]
	for i, f := range frames {
		sum[i][0] += left * f[0]
		sum[i][1] += right * f[1]
	}
}
