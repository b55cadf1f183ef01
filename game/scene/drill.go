package scene

import (
	"context"
	"errors"
	"io"
	"time"

	"strop/drills"
	"strop/dsp"
	"strop/game/ui"
)

// step is where in a sitting a drill is.
type step uint8

const (
	waiting   step = iota // for the material
	preparing             // a trial
	asking
	grading
	telling // the truth
	failed  // to make a trial
)

// The sides that can be heard, in the order in which they are played.
const (
	untouched = iota
	changed
	mine
)

// drill is a sitting: it asks, grades and tells, trial by trial.
type drill struct {
	st      *Stage
	step    step
	wish    Wish
	sitting Sitting
	cancel  context.CancelFunc
	leaving bool // it was asked whether to stop
	problem error

	round    *drills.Round
	sides    [][]dsp.Frame // those offered, then what the trial is about alone, untouched and changed
	offered  int
	side     int
	playing  bool
	started  time.Time // when the trial began to sound
	switches int
	surface  surface
	solo     solo
	turning  turning

	outcome *drills.Outcome
	told    told
	next    *prepared // the trial after this one, once it is ready
	hurry   bool      // the listener is waiting for it
}

// prepared is a trial made beforehand.
type prepared struct {
	round *drills.Round
	err   error
}

var (
	_ Scene  = (*drill)(nil)
	_ shower = (*drill)(nil)
	_ waiter = (*drill)(nil)
	_ leaver = (*drill)(nil)
	_ mover  = (*drill)(nil)
)

func newDrill(st *Stage) *drill { return &drill{st: st, wish: st.wish(), cancel: func() {}} }

func (d *drill) shown() {
	if d.step == waiting {
		d.begin()
	}
}

// songChanged goes on when the material is there.
func (d *drill) songChanged() {
	if d.step == waiting {
		d.begin()
	}
}

// begin lays the sitting out, unless the material is still on its way.
func (d *drill) begin() {
	desk := &d.st.desk
	switch {
	case desk.opening != nil:
		return
	case desk.song == nil:
		d.fail(errors.Join(errors.New("there is no material to practise on"), desk.problem))
		return
	}
	d.step = preparing
	d.st.sat++
	world, loops, w := d.st.world, desk.loops(), d.wish
	d.cancel = d.st.work(func(ctx context.Context) func() {
		sitting, err := world.Drills.Sit(ctx, loops, w)
		if err != nil {
			return func() { d.fail(err) }
		}
		round, err := sitting.Session.Next(ctx)
		return func() {
			d.sitting = sitting
			d.ask(prepared{round, err})
		}
	})
}

func (d *drill) fail(err error) { d.step, d.problem = failed, err }

// ask presents a trial, and starts its sound.
func (d *drill) ask(p prepared) {
	switch {
	case errors.Is(p.err, io.EOF):
		d.st.replace(newSummary(d.st, d.sitting))
		return
	case p.err != nil:
		d.fail(p.err)
		return
	}
	d.step, d.round, d.problem, d.switches, d.next, d.hurry = asking, p.round, nil, 0, nil, false
	d.surface, d.solo, d.turning = surfaces[p.round.Rung.Surface](p.round), solo{}, turning{}
	d.present([][]dsp.Frame{p.round.Untouched, p.round.Changed}, nil, untouched)
	d.started = d.st.world.Clock()
}

// present offers sides to hear, and plays one from the top.
func (d *drill) present(sides [][]dsp.Frame, mineSolo []dsp.Frame, side int) {
	d.offer(sides, mineSolo)
	d.side = side
	d.problem = d.st.world.Sound.Play(d.round.Trial.Loop.RateHz, d.sides, side)
	d.playing = d.problem == nil
}

// offer adds what the trial is about alone to the sides that are offered.
func (d *drill) offer(sides [][]dsp.Frame, mineSolo []dsp.Frame) {
	d.sides, d.offered = sides, len(sides)
	if d.round.Solo[0] != nil {
		d.sides = append(append(d.sides, d.round.Solo[:]...), mineSolo)[:2*d.offered]
	}
}

func (d *drill) left() {
	d.cancel()
	d.st.world.Sound.Move(Silence)
}

func (d *drill) Do(a ui.Action) {
	switch {
	case d.leaving:
		d.decide(a.ID)
	case a.Kind == ui.Submit && a.ID == surfaceID:
		d.give()
	case a.Kind == ui.Changed && a.ID == "side":
		d.listen(a.Index)
	case a.Kind == ui.Released && a.ID == "solo":
		d.together()
	case d.step == asking && d.surface.take(a, d.sitting.Session.Read):
		d.turned()
	case a.Kind == ui.Pressed:
		d.pressed(a.ID)
	}
}

func (d *drill) pressed(id string) {
	switch id {
	case "play":
		d.pause()
	case "again":
		d.st.world.Sound.Move(Restart)
		d.playing = d.sides != nil
	case "answer":
		d.give()
	case "solo":
		d.alone()
	case "solo-button":
		if d.solo.on {
			d.together()
		} else {
			d.alone()
		}
	case "nothing":
		if d.step == asking && d.round.Tool.NothingShare > 0 {
			d.submit("nothing")
		}
	case "next":
		d.goOn()
	case "leave":
		d.leave()
	case "rescue":
		d.st.open(newRescuing(d.st))
	case "material":
		d.st.replace(newMaterials(d.st))
	}
}

// listen goes over to another side.
func (d *drill) listen(side int) {
	if side == d.side || side >= d.offered {
		return
	}
	d.together()
	d.side = side
	if d.step == asking {
		d.switches++
	}
	d.st.world.Sound.Switch(side)
}

func (d *drill) pause() {
	if d.sides == nil {
		return
	}
	d.playing = !d.playing
	if d.playing {
		d.st.world.Sound.Move(Resume)
	} else {
		d.st.world.Sound.Move(Pause)
	}
}

// give answers with what stands on the surface.
func (d *drill) give() {
	if d.step != asking {
		return
	}
	if d.mean() {
		return
	}
	if text := d.surface.answer(); text != "" {
		d.submit(text)
		return
	}
	d.surface.blame(errors.New(d.surface.missing()))
}

// submit answers as if it had been typed.
func (d *drill) submit(text string) {
	if d.step != asking {
		return
	}
	if d.turning.busy {
		d.turning.then = text
		return
	}
	guess, err := d.sitting.Session.Read(text)
	if err != nil {
		d.surface.blame(err)
		return
	}
	d.together()
	now := d.st.world.Clock()
	d.step = grading
	world, session, round := d.st.world, d.sitting.Session, d.round
	given := drills.Given{Guess: guess, Intent: d.turning.meant, Took: now.Sub(d.started), Switches: d.switches, Solo: d.solo.spent}
	d.cancel = d.st.work(func(ctx context.Context) func() {
		outcome, err := session.Answer(ctx, given)
		if outcome == nil {
			return func() { d.fail(err) }
		}
		told, unkept := tell(round, outcome), world.unkept()
		return func() {
			d.st.unkept = unkept
			d.tell(outcome, told, err)
		}
	})
}

// tell shows the truth, plays it, and prepares the next trial meanwhile. A
// probe is not told: the next trial comes at once.
func (d *drill) tell(o *drills.Outcome, t told, kept error) {
	d.step, d.outcome, d.told = telling, o, t
	d.hurry = kept == nil && !o.Record.Trial.Kind.Told()
	d.told.began = d.st.now
	d.present([][]dsp.Frame{d.round.Untouched, d.round.Changed, o.Mine}, o.MineSolo, changed)
	session := d.sitting.Session
	d.cancel = d.st.work(func(ctx context.Context) func() {
		round, err := session.Next(ctx)
		return func() {
			d.next = &prepared{round, err}
			if d.hurry {
				d.ask(*d.next)
			}
		}
	})
}

// goOn asks the next trial as soon as it is ready.
func (d *drill) goOn() {
	if d.step != telling {
		return
	}
	d.together()
	if d.hurry = true; d.next != nil {
		d.ask(*d.next)
	}
}

// leave ends the sitting, after asking where that costs something.
func (d *drill) leave() {
	switch d.step {
	case grading:
	case asking, telling:
		d.leaving = true
	default:
		d.st.back()
	}
}

func (d *drill) decide(id string) {
	switch id {
	case "stay":
		d.leaving = false
	case "stop":
		if len(d.sitting.Session.Records()) > 0 {
			d.st.replace(newSummary(d.st, d.sitting))
			return
		}
		d.st.back()
	}
}

// movingFor is how long a curve takes from answer to truth.
const movingFor = 900 * time.Millisecond

// frameTime is the pace of what moves smoothly.
const frameTime = time.Second / 60

func (d *drill) move(now time.Time) time.Duration {
	if d.step != telling || d.told.part >= 1 {
		return 0
	}
	d.told.part = min(1, max(0, now.Sub(d.told.began).Seconds()/movingFor.Seconds()))
	if d.st.prefs.Still {
		d.told.part = 1
	}
	return frameTime
}
