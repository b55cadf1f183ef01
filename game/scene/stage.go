package scene

import (
	"context"
	"errors"
	"time"

	"strop/game/prefs"
	"strop/game/ui"
)

// Stage shows one screen over those that opened it, and holds what they
// share: the song, the preferences, the work in the background.
type Stage struct {
	world    World
	jobs     *jobs
	scenes   []Scene // the last is in front
	desk     desk
	prefs    prefs.Prefs
	toast    ui.Toast
	toastEnd time.Time
	now      time.Time
	unkept   unkept
	sat      uint64 // sittings begun
	ended    bool
}

// New opens the first screen. wake is called, from any goroutine, when there
// is something for Tick to do.
func New(w World, wake func()) *Stage {
	st := &Stage{world: w, jobs: newJobs(wake), now: w.Clock(), unkept: w.unkept()}
	p, err := prefs.Load(st.jobs.life, w.History)
	st.prefs = p
	if err != nil {
		st.warn(err)
	}
	if err := w.Noise.SetLevelDB(p.LevelDB); err != nil {
		st.warn(err)
	}
	if w.Wish.Condition.Transducer != "" {
		st.prefs.Transducer = w.Wish.Condition.Transducer
	}
	if _, err := w.Find(p.Drill); err == nil && w.Wish.Tool == "" && w.Wish.Minutes == 0 {
		st.world.Wish.Tool = p.Drill
	}
	st.openFirst()
	st.open(&today{st: st})
	if p.LevelSet.IsZero() {
		st.open(newLevel(st, true))
	}
	return st
}

// Page is what to show.
func (st *Stage) Page() ui.Page {
	p := st.front().Page()
	if p.Toast.Text == "" {
		p.Toast = st.toast
	}
	if _, ok := st.front().(*help); !ok {
		p.Keys = append(p.Keys, ui.Binding{Keys: []ui.Key{"ctrl+q"}, ID: "quit", Does: "quit"},
			ui.Binding{Keys: []ui.Key{"?"}, ID: "help", Does: "all keys"})
	}
	return p
}

// Do takes what the user did.
func (st *Stage) Do(a ui.Action) {
	st.toast = ui.Toast{}
	switch {
	case a.Kind == ui.Pressed && a.ID == "help":
		st.open(&help{st: st, of: st.front().Page()})
	case a.Kind == ui.Pressed && a.ID == "quit":
		st.ended = true
	case a.Kind == ui.Dropped:
		st.dropped(a.Paths)
	default:
		st.front().Do(a)
	}
}

// idle is how long a stage may be left alone where nothing moves: a sound
// card may come and go, and a day ends.
const idle = 2 * time.Second

// Tick delivers what work in the background has reported, and moves what
// moves by itself. It returns when it wants to be called again.
func (st *Stage) Tick(now time.Time) (again time.Duration) {
	st.now = now
	st.jobs.deliver()
	if st.toast.Text != "" && !now.Before(st.toastEnd) {
		st.toast = ui.Toast{}
	}
	again = idle
	if st.toast.Text != "" {
		again = min(again, st.toastEnd.Sub(now))
	}
	if st.desk.opening != nil {
		again = min(again, progressEvery)
	}
	if m, ok := st.front().(mover); ok {
		if d := m.move(now); d > 0 {
			again = min(again, d)
		}
	}
	return again
}

// progressEvery is how often the progress of long work is looked at.
const progressEvery = 150 * time.Millisecond

// Ended reports whether the program is to end.
func (st *Stage) Ended() bool { return st.ended }

// Prefs is how the page is to look, and where the window was.
func (st *Stage) Prefs() prefs.Prefs { return st.prefs }

// Prefer remembers other preferences.
func (st *Stage) Prefer(p prefs.Prefs) {
	before := st.prefs
	st.prefs = p
	if err := p.Save(st.jobs.life, st.world.History, before); err != nil {
		st.warn(err)
	}
}

// Close ends the work in the background, and lets an answer that is being
// kept be kept.
func (st *Stage) Close() {
	st.jobs.close()
	st.world.Sound.Move(Silence)
	st.desk.close()
}

func (st *Stage) front() Scene { return st.scenes[len(st.scenes)-1] }

// open puts a screen in front.
func (st *Stage) open(s Scene) {
	st.scenes = append(st.scenes, s)
	st.show()
}

// back leaves the screen in front. The first one stays.
func (st *Stage) back() {
	if len(st.scenes) == 1 {
		return
	}
	if l, ok := st.front().(leaver); ok {
		l.left()
	}
	st.scenes = st.scenes[:len(st.scenes)-1]
	st.show()
}

// replace puts a screen in the place of the one in front.
func (st *Stage) replace(s Scene) {
	if l, ok := st.front().(leaver); ok {
		l.left()
	}
	st.scenes[len(st.scenes)-1] = s
	st.show()
}

func (st *Stage) show() {
	if s, ok := st.front().(shower); ok {
		s.shown()
	}
}

// toastFor is how long one sentence about what just happened stays.
const toastFor = 4 * time.Second

func (st *Stage) tell(text string) {
	st.toast, st.toastEnd = ui.Toast{Text: text}, st.now.Add(toastFor)
}

// warn tells what went wrong where no screen has a place for it.
func (st *Stage) warn(err error) {
	st.toast, st.toastEnd = ui.Toast{Text: sentence(err), Mark: ui.Warning}, st.now.Add(2*toastFor)
}

// Warn tells what went wrong outside of any screen.
func (st *Stage) Warn(err error) { st.warn(err) }

// dropped opens a file or a folder of stems.
func (st *Stage) dropped(paths []string) {
	if busy, ok := st.front().(*drill); ok && busy.step != failed {
		st.warn(errors.New("a trial is open; leave it before you change the material"))
		return
	}
	st.take(Material{Path: paths[0]})
}

// work runs job beside the window; what it returns is done here.
func (st *Stage) work(job func(ctx context.Context) (done func())) context.CancelFunc {
	return st.jobs.start(func(ctx context.Context, _ func(func())) func() { return job(ctx) })
}
