package scene

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"strop/drills"
	"strop/dsp"
	"strop/game/ui"
)

// stems is the track sheet of a song: what each stem is, and the rough mix that
// trials are heard in.
type stems struct {
	st       *Stage
	song     Song
	sheet    Sheet
	was      Sheet // as it came
	ready    bool
	chosen   int
	loS, hiS float64 // the loop that is heard
	playing  bool
	again    bool // a fader was moved while the mix of before was being made
	busy     bool
	problem  error
}

var (
	_ Scene  = (*stems)(nil)
	_ leaver = (*stems)(nil)
	_ mover  = (*stems)(nil)
)

func newStems(st *Stage, loS, hiS float64) *stems {
	s := &stems{st: st, song: st.desk.song, loS: loS, hiS: hiS}
	s.look()
	return s
}

// look reads the sheet until it is complete. What was decided here stays.
func (s *stems) look() {
	if s.ready {
		return
	}
	s.sheet, s.ready = s.song.Sheet()
	s.sheet.Stems = slices.Clone(s.sheet.Stems)
	s.was = s.sheet
	s.was.Stems = slices.Clone(s.sheet.Stems)
	s.problem = nil
}

// move reads the sheet as it becomes known.
func (s *stems) move(time.Time) time.Duration {
	if s.ready {
		return 0
	}
	s.look()
	return progressEvery
}

func (s *stems) left() { s.stop() }

func (s *stems) stop() {
	if s.playing {
		s.st.world.Sound.Move(Silence)
	}
	s.playing = false
}

func (s *stems) Do(a ui.Action) {
	switch {
	case a.Kind == ui.Changed:
		s.changed(a)
	case a.Kind == ui.Submit && a.ID == "stems", a.Kind == ui.Pressed && a.ID == "hear":
		s.hear()
	case a.Kind == ui.Submit:
		s.changed(a)
	case a.Kind == ui.Pressed && a.ID == "keep":
		s.keep()
	case a.Kind == ui.Pressed && a.ID == "back":
		s.st.back()
	}
}

func (s *stems) stem() *Stem { return &s.sheet.Stems[s.chosen] }

func (s *stems) changed(a ui.Action) {
	switch a.ID {
	case "stems":
		s.chosen = a.Index
	case "role":
		s.stem().Role, s.stem().RoleFrom = s.sheet.Roles[a.Index], "user"
	case "tags":
		s.sheet.Tags = divided(a.Text)
	case "collections":
		s.sheet.Collections = divided(a.Text)
	default:
		s.fade(a)
	}
}

// fade moves the fader of the stem that is chosen, and lets it be heard.
func (s *stems) fade(a ui.Action) {
	f := &s.stem().Fader
	switch a.ID {
	case "gain":
		f.GainDB = a.Value
	case "pan":
		f.Pan = a.Value / 100
	case "mute":
		f.Muted = a.Index == 1
	case "polarity":
		f.Inverted = a.Index == 1
	default:
		return
	}
	if s.playing {
		s.mix()
	}
}

// divided are the names in a text that commas divide.
func divided(text string) (names []string) {
	for name := range strings.SplitSeq(text, ",") {
		if name = strings.TrimSpace(name); name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

func (s *stems) hear() {
	if s.playing {
		s.stop()
		return
	}
	s.mix()
}

// mix makes the loop through the faders as they are, one at a time, and plays
// it as loud as a trial: where it plays already, at the same place.
func (s *stems) mix() {
	if s.busy {
		s.again = true
		return
	}
	s.busy, s.again = true, false
	faders := make([]Fader, len(s.sheet.Stems))
	for i, stem := range s.sheet.Stems {
		faders[i] = stem.Fader
	}
	song, loS, hiS := s.song, s.loS, s.hiS
	s.st.work(func(ctx context.Context) func() {
		clip, err := song.Mixed(ctx, faders, loS, hiS)
		return func() { s.mixed(clip, err) }
	})
}

func (s *stems) mixed(clip drills.Clip, err error) {
	s.busy = false
	if s.problem = err; err != nil || s.st.front() != Scene(s) {
		return
	}
	sides := [][]dsp.Frame{asTrial(clip)}
	play := s.st.world.Sound.Play
	if s.playing {
		play = s.st.world.Sound.Replace
	}
	s.problem = play(clip.Loop.RateHz, sides, 0)
	if s.playing = s.problem == nil; s.again {
		s.mix()
	}
}

// keep keeps what was decided. Where roles or faders are others, the song is
// opened with them.
func (s *stems) keep() {
	song, sheet, again := s.song, s.sheet, !slices.Equal(s.sheet.Stems, s.was.Stems)
	s.st.work(func(ctx context.Context) func() {
		err := song.Decide(ctx, sheet)
		return func() {
			if s.problem = err; err != nil || s.st.front() != Scene(s) {
				return
			}
			s.st.back()
			if again {
				s.st.take(song.About().Material)
			}
			s.st.tell("Kept with the material.")
		}
	})
}

func (s *stems) Page() ui.Page {
	body := ui.Column{}
	if !s.ready {
		body.Items = append(body.Items, ui.Progress{Label: "listening to the stems", Part: s.song.About().Decoded})
	}
	if s.problem != nil {
		body.Items = append(body.Items, ui.Note{Text: sentence(s.problem), Problem: true})
	}
	for _, w := range s.sheet.Warnings {
		body.Items = append(body.Items, ui.Note{Text: w})
	}
	body.Items = append(body.Items,
		ui.Grow{Item: ui.Row{Stretch: true, Items: []ui.Item{
			ui.Grow{Item: s.table()},
			ui.Grow{Item: ui.Panel{Title: s.stem().Name, Item: s.fader()}},
		}}},
		ui.Row{Stretch: true, Items: []ui.Item{
			ui.Grow{Item: ui.Field{ID: "tags", Label: "tags, with commas between", Value: strings.Join(s.sheet.Tags, ", ")}},
			ui.Grow{Item: ui.Field{ID: "collections", Label: "collections", Value: strings.Join(s.sheet.Collections, ", ")}},
		}},
		s.buttons(),
	)
	return ui.Page{
		Name: "stems", Title: "Stems", Aside: s.song.About().Title + ", " + count(len(s.sheet.Stems), "stem"), Body: body,
		Keys: []ui.Binding{
			{Keys: []ui.Key{ui.KeySpace}, ID: "hear", Does: "hear the loop through the faders"},
			{Keys: []ui.Key{"ctrl+s"}, ID: "keep", Does: "keep with the material"},
			{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"},
		},
		Focus: "stems",
	}
}

func (s *stems) buttons() ui.Item {
	hear := ui.Button{ID: "hear", Label: "Hear", Mark: ui.Play, Tip: "The loop, through the faders, as loud as a trial."}
	if s.playing {
		hear.Label, hear.Mark = "Stop", ui.Stop
	}
	keep := ui.Button{ID: "keep", Label: "Keep", Primary: true, Tip: "With the material, wherever it lies. Files are never changed."}
	if !s.ready {
		hear.Off, keep.Off = "listening to the stems", "listening to the stems"
	}
	return ui.Row{Gap: ui.Tight, Items: []ui.Item{hear, keep, ui.Button{ID: "back", Label: "Back"}}}
}

func (s *stems) table() ui.Item {
	t := ui.Table{ID: "stems", Label: "stems: Enter plays the loop", Chosen: s.chosen, Show: 7,
		Columns: []ui.TableColumn{{Title: "stem"}, {Title: "role"}, {Title: "dB", Number: true}}}
	for _, stem := range s.sheet.Stems {
		gain := fmt.Sprintf("%+.1f", stem.Fader.GainDB)
		if stem.Fader.Muted {
			gain = "muted"
		}
		t.Rows = append(t.Rows, []string{stem.Name, roleText(stem.Role), strings.Replace(gain, "-", "−", 1)})
	}
	return t
}

func roleText(role string) string {
	if role == "" {
		return "not known"
	}
	return role
}

// whence is how a role is known.
var whence = map[string]string{
	"name": "guessed from the name", "content": "guessed from the sound", "score": "known", "user": "as you said",
}

func (s *stems) fader() ui.Item {
	stem := *s.stem()
	role := ui.List{ID: "role", Label: "role", Chosen: slices.Index(s.sheet.Roles, stem.Role), Show: 3}
	if from := whence[stem.RoleFrom]; from != "" {
		role.Label = "role: " + from
	}
	for _, r := range s.sheet.Roles {
		role.Rows = append(role.Rows, ui.ListRow{Text: r})
	}
	f := stem.Fader
	return ui.Column{Gap: ui.Tight, Items: []ui.Item{
		ui.Slider{ID: "gain", Label: "fader", Scale: faderScale(), Value: min(max(f.GainDB, faderLowDB), faderHighDB), ValueText: signedDB(f.GainDB)},
		ui.Slider{ID: "pan", Label: "pan", Scale: panScale(), Value: math.Round(100 * f.Pan), ValueText: panText(f.Pan)},
		ui.Row{Gap: ui.Tight, Items: []ui.Item{
			ui.Choice{ID: "mute", Chosen: boolIndex(f.Muted), Options: options("in the mix", "muted")},
			ui.Choice{ID: "polarity", Chosen: boolIndex(f.Inverted), Options: options("as recorded", "inverted")},
		}},
		role,
	}}
}

// The way of a fader, in dB.
const (
	faderLowDB  = -60
	faderHighDB = 24
)

func faderScale() ui.Scale {
	s := ui.Scale{Min: faderLowDB, Max: faderHighDB, Step: 0.5, Coarse: 6}
	for db := -60; db <= faderHighDB; db += 12 {
		s.Ticks = append(s.Ticks, ui.Tick{Value: float64(db), Label: strings.Replace(fmt.Sprint(db), "-", "−", 1)})
	}
	return s
}

func panScale() ui.Scale {
	s := ui.Scale{Min: -100, Max: 100, Step: 5, Coarse: 5}
	for v, label := range map[float64]string{-100: "L", 0: "C", 100: "R"} {
		s.Ticks = append(s.Ticks, ui.Tick{Value: v, Label: label})
	}
	slices.SortFunc(s.Ticks, func(a, b ui.Tick) int { return int(a.Value - b.Value) })
	return s
}

func signedDB(db float64) string {
	return strings.Replace(fmt.Sprintf("%+.1f dB", db), "-", "−", 1)
}

// panText is a place between the loudspeakers in percent of the way.
func panText(pan float64) string {
	switch percent := math.Round(100 * pan); {
	case percent < 0:
		return fmt.Sprintf("%.0f %% left", -percent)
	case percent > 0:
		return fmt.Sprintf("%.0f %% right", percent)
	}
	return "centre"
}
