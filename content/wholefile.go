package content

import (
	"context"
	"path/filepath"
	"strings"

	"strop/dsp"
)

// fileTracks is a song that is one file: its only stem is the mix.
type fileTracks struct {
	sheet    Sheet
	material *Material
	stop     func()
}

var _ Tracks = (*fileTracks)(nil)

func openFile(ctx context.Context, path string, keep Keeper) (*Multitrack, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(ctx)
	m, err := Load(ctx, path)
	if err != nil {
		stop()
		return nil, err
	}
	kept, err := keep.kept(m.Hash())
	if err != nil {
		stop()
		return nil, err
	}
	return NewMultitrack(ctx, newFileTracks(path, m, stop), kept.Fits)
}

// Whole is a material that is being decoded as a multitrack of one stem.
// Close of it calls stop.
func Whole(ctx context.Context, m *Material, stop func()) (*Multitrack, error) {
	return NewMultitrack(ctx, newFileTracks("", m, stop), nil)
}

func newFileTracks(path string, m *Material, stop func()) *fileTracks {
	format := m.Format()
	stem := Stem{
		Name: strings.TrimSuffix(m.Name(), filepath.Ext(m.Name())), Path: path, Role: Mix, RoleFrom: FromName,
		Channels: format.Channels, Bits: format.Bits, RateHz: format.RateHz, Frames: format.Frames,
	}
	return &fileTracks{material: m, stop: stop, sheet: Sheet{
		Name: m.Name(), Path: path, Hash: m.Hash(), RateHz: m.RateHz(), Frames: format.Frames,
		Stems: []Stem{stem}, Faders: []Fader{{}},
	}}
}

func (f *fileTracks) Sheet() Sheet { return f.sheet }

func (f *fileTracks) Prepare(context.Context, func(share float64)) (Sheet, error) {
	return f.sheet, nil
}

func (f *fileTracks) Read(ctx context.Context, _ int, dst []dsp.Frame, start int64) error {
	if err := f.material.WaitFrames(ctx, start+int64(len(dst))); err != nil {
		return err
	}
	clear(dst[f.material.Frames(dst, start):])
	return nil
}

func (f *fileTracks) Close() error {
	f.stop()
	return nil
}
