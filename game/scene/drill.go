package scene

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
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
	sides    [][]dsp.Frame
	side     int
	playing  bool
	started  time.Time // when the trial began to sound
	switches int
	answer   answer

	outcome *drills.Outcome
	told    told
	next    *prepared // the trial after this one, once it is ready
	hurry   bool      // the listener is waiting for it
}

// answer is what stands on the ruler.
type answer struct {
	value float64
	set   bool
	entry string // as it is typed
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
	d.step, d.round, d.problem, d.answer, d.switches, d.next, d.hurry = asking, p.round, nil, answer{}, 0, nil, false
	d.present([][]dsp.Frame{p.round.Untouched, p.round.Changed}, untouched)
	d.started = d.st.world.Clock()
}

// present offers sides to hear, and plays one from the top.
func (d *drill) present(sides [][]dsp.Frame, side int) {
	d.sides, d.side = sides, side
	d.problem = d.st.world.Sound.Play(d.round.Trial.Loop.RateHz, sides, side)
	d.playing = d.problem == nil
}

func (d *drill) left() {
	d.cancel()
	d.st.world.Sound.Move(Silence)
}

func (d *drill) Do(a ui.Action) {
	switch {
	case d.leaving:
		d.decide(a.ID)
	case a.Kind == ui.Changed && a.ID == "ruler":
		d.point(a)
	case a.Kind == ui.Submit && a.ID == "ruler":
		d.give()
	case a.Kind == ui.Changed && a.ID == "side":
		d.listen(a.Index)
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
	case "nothing":
		d.submit("0")
	case "next":
		d.goOn()
	case "leave":
		d.leave()
	case "material":
		d.st.replace(newMaterials(d.st))
	}
}

// listen goes over to another side.
func (d *drill) listen(side int) {
	if side == d.side || side >= len(d.sides) {
		return
	}
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

// point moves the cursor, or takes what is typed: a value that can be read
// moves the cursor too.
func (d *drill) point(a ui.Action) {
	if d.step != asking {
		return
	}
	d.problem = nil
	if a.Text == "" {
		d.answer = answer{value: a.Value, set: d.answer.set || a.Value != d.answer.value}
		return
	}
	d.answer.entry, d.answer.set = a.Text, false
	guess, err := d.sitting.Session.Read(a.Text)
	if err == nil && len(guess) > 0 {
		d.answer.value, d.answer.set = guess.Get(d.sitting.Tool.Params[0]), true
	}
}

// give answers with what stands on the ruler.
func (d *drill) give() {
	switch {
	case d.step != asking:
	case d.answer.entry != "":
		d.submit(d.answer.entry)
	case d.answer.set:
		d.submit(strconv.FormatFloat(d.answer.value, 'f', -1, 64))
	default:
		d.problem = errors.New("point at a place on the ruler first, or type a value")
	}
}

// submit answers as if it had been typed.
func (d *drill) submit(text string) {
	if d.step != asking {
		return
	}
	guess, err := d.sitting.Session.Read(text)
	if err != nil {
		d.problem = err
		return
	}
	took := d.st.world.Clock().Sub(d.started)
	d.step = grading
	session, round := d.sitting.Session, d.round
	given := drills.Given{Guess: guess, Took: took, Switches: d.switches}
	d.cancel = d.st.work(func(ctx context.Context) func() {
		outcome, err := session.Answer(ctx, given)
		if outcome == nil {
			return func() { d.fail(err) }
		}
		told := tell(round, guess)
		return func() { d.tell(outcome, told, err) }
	})
}

// tell shows the truth, plays it, and prepares the next trial meanwhile.
func (d *drill) tell(o *drills.Outcome, t told, kept error) {
	d.step, d.outcome, d.told = telling, o, t
	d.told.began = d.st.now
	d.present([][]dsp.Frame{d.round.Untouched, d.round.Changed, o.Mine}, changed)
	if kept != nil {
		d.problem = fmt.Errorf("this answer could not be kept: %w", kept)
	}
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
