package scene

import (
	"context"
	"fmt"
	"time"

	"strop/dsp"
	"strop/game/ui"
)

// solo is how what a trial is about was heard alone.
type solo struct {
	on    bool
	since time.Time
	spent time.Duration
}

// alone goes over to what the trial is about, by itself, as long as a key is
// held.
func (d *drill) alone() {
	if d.solo.on || d.round == nil || d.round.Solo[0] == nil {
		return
	}
	d.solo.on, d.solo.since = true, d.st.world.Clock()
	d.st.world.Sound.Switch(d.heard())
}

// heard is the place of what plays, among the sides and the same alone.
func (d *drill) heard() int {
	if d.solo.on {
		return d.offered + d.side
	}
	return d.side
}

// together goes back to the mix.
func (d *drill) together() {
	if !d.solo.on {
		return
	}
	d.solo.on = false
	if d.step == asking {
		d.solo.spent += d.st.world.Clock().Sub(d.solo.since)
	}
	d.st.world.Sound.Switch(d.side)
}

// soloText says how much of the time a stem was heard alone.
func (d *drill) soloText() string {
	took := d.st.world.Clock().Sub(d.started)
	if d.solo.spent == 0 || took <= 0 {
		return ""
	}
	return fmt.Sprintf("alone %.0f %% of the time", 100*d.solo.spent.Seconds()/took.Seconds())
}

// turning is a tool that is turned while it sounds.
type turning struct {
	meant dsp.Setting // nil until the move was said
	busy  bool        // what it was turned to is being made
	again bool        // and was turned on since
	then  string      // the answer that waits for it
}

// mean takes the move that is meant, where the trial asks for one and it was
// not said yet.
func (d *drill) mean() bool {
	k, ok := d.surface.(*knobs)
	if !ok || k.meant != nil {
		return false
	}
	meant, err := d.sitting.Session.Read(k.answer())
	if err != nil {
		k.problem = err
		return true
	}
	k.meant, d.turning.meant = meant, meant
	for id, v := range d.round.Start {
		k.set = k.set.With(id, v)
	}
	d.turned()
	return true
}

// turned lets the tool be heard where it stands now.
func (d *drill) turned() {
	k, ok := d.surface.(*knobs)
	if !ok || k.meant == nil {
		return
	}
	if d.turning.busy {
		d.turning.again = true
		return
	}
	guess, err := d.sitting.Session.Read(k.answer())
	if err != nil {
		k.problem = err
		return
	}
	d.turning.busy = true
	session, round := d.sitting.Session, d.round
	d.cancel = d.st.work(func(ctx context.Context) func() {
		whole, solo, err := session.Try(guess)
		return func() {
			if d.round == round {
				d.heardTurned(whole, solo, err)
			}
		}
	})
}

// heardTurned plays the tool as it was turned, at the same place in the loop.
func (d *drill) heardTurned(whole, solo []dsp.Frame, err error) {
	t := &d.turning
	t.busy = false
	if err != nil {
		d.surface.blame(err)
		return
	}
	d.offer([][]dsp.Frame{d.round.Untouched, d.round.Changed, whole}, solo)
	d.side = mine
	d.problem = d.st.world.Sound.Replace(d.round.Trial.Loop.RateHz, d.sides, d.heard())
	switch {
	case t.again:
		t.again = false
		d.turned()
	case t.then != "":
		then := t.then
		t.then = ""
		d.submit(then)
	}
}

// soloItems are the button that hears a stem alone, where there is one.
func (d *drill) soloItems() []ui.Item {
	if d.round.Solo[0] == nil {
		return nil
	}
	b := ui.Button{ID: "solo-button", Label: "Alone"}
	if d.solo.on {
		b.Label = "In the mix"
	}
	return []ui.Item{b}
}
