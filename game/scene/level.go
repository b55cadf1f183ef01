package scene

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"strop/drills"
	"strop/game/player"
	"strop/game/ui"
)

// level is where the listening level is set, once, with pink noise.
type level struct {
	st      *Stage
	first   bool    // nobody has set it yet
	playing bool    // the noise is heard
	wantDB  float64 // where the slider stands
	isDB    float64 // how loud it is by now
	last    time.Time
	cancel  context.CancelFunc // of noise that is being made
	problem error
}

var (
	_ Scene  = (*level)(nil)
	_ mover  = (*level)(nil)
	_ leaver = (*level)(nil)
)

// newLevel begins far down the first time.
func newLevel(st *Stage, first bool) *level {
	l := &level{st: st, first: first, wantDB: st.prefs.LevelDB, cancel: func() {}}
	if first {
		l.wantDB = firstDB
	}
	l.jump(l.wantDB)
	return l
}

const (
	firstDB   = -30.0 // where the slider stands the first time; our choice
	leastDB   = -60.0
	upDBPerS  = 12.0 // how fast it gets louder, wherever the slider is put; our choice
	rampEvery = 50 * time.Millisecond
)

func (l *level) jump(levelDB float64) {
	l.isDB = levelDB
	l.problem = l.st.world.Noise.SetLevelDB(levelDB)
}

// move comes up slowly to where the slider was put.
func (l *level) move(now time.Time) time.Duration {
	passed := now.Sub(l.last).Seconds()
	l.last = now
	if l.isDB >= l.wantDB {
		return 0
	}
	l.jump(min(l.wantDB, l.isDB+upDBPerS*min(passed, 2*rampEvery.Seconds())))
	return rampEvery
}

func (l *level) Do(a ui.Action) {
	switch {
	case a.Kind == ui.Changed && a.ID == "level":
		l.wantDB = a.Value
		if a.Value < l.isDB {
			l.jump(a.Value)
		}
	case a.Kind != ui.Pressed:
	case a.ID == "noise" && l.playing:
		l.stop()
	case a.ID == "noise":
		l.play()
	case a.ID == "leave":
		l.leave()
	case a.ID == "back":
		l.st.back()
	}
}

// play starts the noise, as soon as it is made and if it is still wanted.
func (l *level) play() {
	l.playing, l.problem = true, nil
	noise := l.st.world.Noise
	l.cancel = l.st.work(func(context.Context) func() {
		err := noise.MakeNoise()
		return func() {
			if err == nil && l.playing {
				err = noise.PlayNoise()
			}
			l.playing, l.problem = l.playing && err == nil, err
		}
	})
}

func (l *level) stop() {
	l.playing = false
	l.st.world.Sound.Move(Silence)
}

// leave keeps the level, and goes on.
func (l *level) leave() {
	p := l.st.prefs
	p.LevelDB, p.LevelSet = l.wantDB, l.st.world.Clock()
	l.st.Prefer(p)
	l.st.back()
	l.st.tell("The level is set. Leave it where it is.")
}

// left falls silent, and goes back to the level that is kept.
func (l *level) left() {
	l.cancel()
	l.stop()
	l.jump(l.st.prefs.LevelDB)
}

func (l *level) Page() ui.Page {
	noise := ui.Button{ID: "noise", Label: "Play the noise", Mark: ui.Play, Primary: !l.playing}
	if l.playing {
		noise.Label, noise.Mark = "Stop the noise", ui.Stop
	}
	p := ui.Page{
		Name: "level", Title: "Level", Aside: fmt.Sprintf("pink noise at −%.0f LUFS", -drills.PlayLUFS), Question: "How loud do you work?",
		Body: ui.Column{Items: []ui.Item{
			ui.Text{Text: player.Caution},
			ui.Row{Items: []ui.Item{
				noise,
				ui.Grow{Item: ui.Slider{ID: "level", Label: "level of everything that is played", Value: l.wantDB, Scale: levelScale(),
					ValueText: l.valueText(), Tip: "Arrow keys move by half a decibel. Up comes slowly, down comes at once."}},
			}},
			l.problems(),
			ui.Row{Items: []ui.Item{ui.Button{ID: "leave", Label: "Set it and leave it", Mark: ui.Done, Primary: l.playing}}},
		}},
		Keys: []ui.Binding{
			{Keys: []ui.Key{ui.KeySpace}, ID: "noise", Does: "play or stop the noise"},
			{Keys: []ui.Key{ui.KeyEnter}, ID: "leave", Does: "set it and leave it"},
		},
		Focus: "level",
	}
	if !l.first {
		p.Keys = append(p.Keys, ui.Binding{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back, nothing changed"})
	}
	return p
}

func (l *level) problems() ui.Item {
	if l.problem != nil {
		return ui.Note{Text: sentence(l.problem), Problem: true}
	}
	return soundNote(l.st)
}

func (l *level) valueText() string {
	text := decibels(l.wantDB)
	if l.isDB < l.wantDB-0.05 {
		text += fmt.Sprintf(", now at %s", decibels(l.isDB))
	}
	return text
}

func decibels(db float64) string {
	if db > -0.05 {
		return "0 dB"
	}
	return fmt.Sprintf("−%.1f dB", -db)
}

func levelScale() ui.Scale {
	s := ui.Scale{Min: leastDB, Max: 0, Step: 0.5, Coarse: 6}
	for db := int(leastDB); db <= 0; db += 6 {
		tick := ui.Tick{Value: float64(db)}
		switch {
		case db == 0:
			tick.Label = "0 dB"
		case db%12 == 0:
			tick.Label = "−" + strconv.Itoa(-db)
		}
		s.Ticks = append(s.Ticks, tick)
	}
	return s
}
