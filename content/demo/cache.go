package demo

import (
	"bufio"
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"
)

// Cache keeps rendered takes in a folder of its own, a take a folder, a stem a
// FLAC file of 24 bits, so that what comes back is what went in, bit for bit.
// It holds MaxBytes; the takes that were not used for longest go first, never
// the one that was used last. Deleting any part of the folder does no harm.
//
// Several programs may share a folder: a take appears there all at once.
type Cache struct {
	Dir      string
	MaxBytes int64
}

// Render is Song.Render, read from the cache where it is there. A take that
// cannot be read is rendered again; one that cannot be written is given
// nevertheless, with the error.
func (c Cache) Render(ctx context.Context, s Song, seed uint64, progress func(share float64)) (*Rendered, error) {
	if r, err := c.read(ctx, s, seed); err == nil || ctx.Err() != nil {
		return r, err
	}
	r, err := s.Render(ctx, seed, progress)
	if err != nil {
		return nil, err
	}
	if err := c.write(r); err != nil {
		return r, fmt.Errorf("the demo song was rendered, but not kept: %w", err)
	}
	return r, c.trim(c.folder(s, seed))
}

// folder is the place of a take: its identity, as a name for files.
func (c Cache) folder(s Song, seed uint64) string {
	return filepath.Join(c.Dir, strings.ReplaceAll(s.Hash(seed), ":", "-"))
}

func stemFile(folder string, i int) string {
	return filepath.Join(folder, fmt.Sprintf("%02d.flac", i+1))
}

// read gives a take from the cache, and marks it as used.
func (c Cache) read(ctx context.Context, s Song, seed uint64) (*Rendered, error) {
	folder := c.folder(s, seed)
	if _, err := os.Stat(folder); err != nil {
		return nil, err
	}
	r, err := s.Describe(seed)
	if err != nil {
		return nil, err
	}
	err = together(len(r.Stems), func(i int) (err error) {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		st := &r.Stems[i]
		st.PCM, err = readStem(stemFile(folder, i), st.Channels, r.Frames)
		return err
	})
	if err != nil {
		return nil, err
	}
	now := time.Now()
	return r, os.Chtimes(folder, now, now)
}

func readStem(path string, channels, frames int) ([][]float32, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	stream, err := flac.New(bufio.NewReaderSize(f, 1<<16))
	if err != nil {
		return nil, err
	}
	x, err := readChannels(stream)
	if err != nil {
		return nil, err
	}
	if len(x) != channels || len(x[0]) != frames || stream.Info.BitsPerSample != 24 {
		return nil, fmt.Errorf("%s is not the stem that it should be", path)
	}
	pcm := make([][]float32, channels)
	for c := range pcm {
		pcm[c] = make([]float32, frames)
		for i, v := range x[c] {
			pcm[c][i] = float32(v)
		}
	}
	return pcm, nil
}

// write puts a take into the cache: first beside its place, then there.
func (c Cache) write(r *Rendered) error {
	if err := os.MkdirAll(c.Dir, 0o755); err != nil {
		return err
	}
	folder, err := os.MkdirTemp(c.Dir, "part-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	err = together(len(r.Stems), func(i int) error { return writeStem(stemFile(folder, i), r.Stems[i].PCM) })
	if err != nil {
		return err
	}
	place := c.folder(r.Song, r.Seed)
	if err := os.RemoveAll(place); err != nil { // what could not be read
		return err
	}
	return os.Rename(folder, place)
}

// flacBlock is how many frames a FLAC frame holds.
const flacBlock = 4096

func writeStem(path string, pcm [][]float32) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	out := bufio.NewWriterSize(f, 1<<16)
	enc, err := flac.NewEncoder(out, &meta.StreamInfo{
		BlockSizeMin: flacBlock, BlockSizeMax: flacBlock, SampleRate: rateHz,
		NChannels: uint8(len(pcm)), BitsPerSample: 24, NSamples: uint64(len(pcm[0])),
	})
	if err != nil {
		return err
	}
	for from := 0; from < len(pcm[0]); from += flacBlock {
		if err := enc.WriteFrame(flacFrame(pcm, from, min(flacBlock, len(pcm[0])-from))); err != nil {
			return err
		}
	}
	if err := enc.Close(); err != nil {
		return err
	}
	return out.Flush()
}

func flacFrame(pcm [][]float32, from, n int) *frame.Frame {
	f := &frame.Frame{Header: frame.Header{
		HasFixedBlockSize: true, BlockSize: uint16(n), SampleRate: rateHz,
		Channels: frame.Channels(len(pcm) - 1), BitsPerSample: 24,
	}}
	for _, x := range pcm {
		sub := &frame.Subframe{SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, NSamples: n, Samples: make([]int32, n)}
		for i, v := range x[from : from+n] {
			sub.Samples[i] = int32(v * (1 << 23))
		}
		f.Subframes = append(f.Subframes, sub)
	}
	return f
}

// trim removes takes until the cache is small enough, but for the one at keep.
func (c Cache) trim(keep string) error {
	type kept struct {
		path  string
		used  time.Time
		bytes int64
	}
	entries, err := os.ReadDir(c.Dir)
	if err != nil {
		return err
	}
	var all []kept
	total := int64(0)
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !e.IsDir() || !strings.HasPrefix(e.Name(), "demo-") {
			continue
		}
		k := kept{filepath.Join(c.Dir, e.Name()), info.ModTime(), 0}
		k.bytes = size(k.path)
		all, total = append(all, k), total+k.bytes
	}
	slices.SortFunc(all, func(a, b kept) int { return a.used.Compare(b.used) })
	for _, k := range all {
		if total <= c.MaxBytes {
			return nil
		}
		if k.path == keep {
			continue
		}
		if err := os.RemoveAll(k.path); err != nil {
			return err
		}
		total -= k.bytes
	}
	return nil
}

// size is the bytes of all files in a folder, as far as they can be seen.
func size(folder string) (bytes int64) {
	filepath.WalkDir(folder, func(_ string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			if info, err := d.Info(); err == nil {
				bytes += info.Size()
			}
		}
		return nil
	})
	return bytes
}
