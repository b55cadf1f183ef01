package scene

import (
	"context"
	"errors"
	"path/filepath"

	"strop/drills"
)

// desk is the material at hand.
type desk struct {
	song    Song          // what is practised on; nil until one is there
	only    *drills.Clip  // the one loop of it that is practised on; nil: all
	liked   []drills.Loop // the favourites, where those alone are practised on
	opening *opening      // what is on its way to become it
	problem error         // why the last one did not
	moved   *Moved        // what is to be looked for
}

// opening is a material on its way.
type opening struct {
	name   string
	song   Song // nil until it was recognised
	cancel context.CancelFunc
}

// share is how much is decoded, below 0 where nobody knows.
func (o *opening) share() float64 {
	if o.song == nil {
		return -1
	}
	return o.song.About().Decoded
}

func (d *desk) close() {
	if d.song != nil {
		d.song.Close()
	}
	if d.opening != nil && d.opening.song != nil {
		d.opening.song.Close()
	}
}

// loops are what trials are made of.
func (d *desk) loops() drills.Clips {
	if d.only != nil {
		return one{*d.only}
	}
	if len(d.liked) > 0 {
		return few{d.song, d.liked}
	}
	return d.song
}

// openFirst opens what the program was started with, or what was used last.
func (st *Stage) openFirst() {
	if name := st.world.Open; name != "" {
		st.take(Material{Title: name, Path: name})
		return
	}
	st.begin("", func(ctx context.Context) (Material, error) {
		known, err := st.world.Library.Known(ctx)
		if err == nil && len(known) == 0 {
			err = errors.New("there is no material: open a file")
		}
		if err != nil {
			return Material{}, err
		}
		return known[0], nil
	})
}

// take opens a material, to practise on it once its first loop is there. What
// was practised on before stays until then, and longer if this one is no good.
func (st *Stage) take(m Material) {
	name := m.Title
	if m.Path != "" {
		name = filepath.Base(m.Path)
	}
	st.begin(name, func(context.Context) (Material, error) { return m, nil })
}

func (st *Stage) begin(name string, find func(context.Context) (Material, error)) {
	st.stopOpening()
	o := &opening{name: name}
	st.desk.opening, st.desk.problem, st.desk.moved = o, nil, nil
	lib := st.world.Library
	o.cancel = st.jobs.start(func(ctx context.Context, tell func(func())) func() {
		m, err := find(ctx)
		if err != nil {
			return func() { st.notOpened(err) }
		}
		song, err := lib.Open(m)
		if err != nil {
			return func() { st.notOpened(err) }
		}
		tell(func() { o.name, o.song = song.About().Title, song })
		_, err = song.Clip(ctx, 0)
		if err == nil {
			err = lib.Remember(ctx, song)
		}
		if ctx.Err() != nil || err != nil {
			song.Close()
			return func() { st.notOpened(err) }
		}
		return func() { st.opened(song) }
	})
}

func (st *Stage) notOpened(err error) {
	st.desk.opening, st.desk.problem = nil, err
	_ = errors.As(err, &st.desk.moved) // it stays nil where it is something else
	st.songChanged()
}

func (st *Stage) opened(s Song) {
	if st.desk.song != nil {
		st.world.Sound.Move(Silence)
		st.desk.song.Close()
	}
	st.desk = desk{song: s}
	st.songChanged()
}

func (st *Stage) songChanged() {
	for _, s := range st.scenes {
		if w, ok := s.(waiter); ok {
			w.songChanged()
		}
	}
}

// stopOpening gives up what is on its way.
func (st *Stage) stopOpening() {
	o := st.desk.opening
	if o == nil {
		return
	}
	o.cancel()
	if o.song != nil {
		o.song.Close()
	}
	st.desk.opening = nil
}
