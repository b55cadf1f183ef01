package scene

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"strop/game/prefs"
	"strop/game/ui"
)

// Cards is the sound cards there are, and how one is opened.
type Cards interface {
	Cards(ctx context.Context) ([]Card, error)
	// Use opens the sound anew as the preferences say.
	Use(p prefs.Prefs) error
	// Opened is what was granted.
	Opened() Opened
}

// Card is a sound card.
type Card struct {
	ID, Name string
	RatesHz  []float64
	Default  bool
}

// Opened is how the sound card that is in use was opened; zero: none is.
type Opened struct {
	Name                  string
	RateHz                float64
	PeriodFrames, Periods int
	LatencyMS             float64
}

// settings is the sound, the look and the listening.
type settings struct {
	st      *Stage
	cards   []Card
	problem error
	busy    bool // the sound is being opened
}

var (
	_ Scene  = (*settings)(nil)
	_ shower = (*settings)(nil)
)

func newSettings(st *Stage) *settings { return &settings{st: st} }

func (s *settings) shown() {
	cards := s.st.world.Cards
	s.st.work(func(ctx context.Context) func() {
		list, err := cards.Cards(ctx)
		return func() { s.cards, s.problem = list, err }
	})
}

// What the choices offer.
var (
	ratesHz     = []float64{0, 44100, 48000, 96000}
	periods     = []int{128, 0, 512, 1024}
	transducers = []string{"headphones", "loudspeakers", "unstated"}
	lengths     = []int{10, 20, 30}
)

func (s *settings) Do(a ui.Action) {
	if a.Kind == ui.Pressed {
		switch a.ID {
		case "back":
			s.st.back()
		case "sources":
			s.st.open(&sources{st: s.st})
		}
		return
	}
	if a.Kind != ui.Changed && a.Kind != ui.Submit {
		return
	}
	p := s.st.prefs
	switch a.ID {
	case "card":
		p.Device = s.deviceAt(a.Index)
	case "rate":
		p.RateHz = ratesHz[a.Index]
	case "buffer":
		p.PeriodFrames = periods[a.Index]
	case "theme":
		p.Night = a.Index == 1
	case "text":
		p.TextScale = a.Value / 100
	case "motion":
		p.Still = a.Index == 1
	case "transducer":
		p.Transducer = transducers[a.Index]
	case "trials":
		p.Trials = lengths[a.Index]
	}
	s.prefer(p)
}

// deviceAt is the ID of a row of the list; the first is the system's own.
func (s *settings) deviceAt(i int) string {
	if i == 0 {
		return ""
	}
	return s.cards[i-1].ID
}

// prefer remembers, and opens the sound anew where it is to be another.
func (s *settings) prefer(p prefs.Prefs) {
	was := s.st.prefs
	s.st.Prefer(p)
	s.reopen(was)
}

// reopen opens the sound as it is wanted now, one attempt at a time.
func (s *settings) reopen(was prefs.Prefs) {
	now, cards := s.st.prefs, s.st.world.Cards
	if s.busy || now.Device == was.Device && now.RateHz == was.RateHz && now.PeriodFrames == was.PeriodFrames {
		return
	}
	s.busy = true
	s.st.work(func(context.Context) func() {
		err := cards.Use(now)
		return func() {
			s.busy, s.problem = false, err
			s.reopen(now)
		}
	})
}

func (s *settings) Page() ui.Page {
	return ui.Page{
		Name: "settings", Title: "Settings", Aside: "everything is remembered",
		Body: ui.Row{Stretch: true, Items: []ui.Item{
			ui.Grow{Item: ui.Panel{Title: "Sound", Item: s.sound()}},
			ui.Grow{Item: ui.Column{Items: []ui.Item{
				ui.Panel{Title: "Look", Item: s.look()},
				ui.Grow{Item: ui.Panel{Title: "Practice", Item: s.practice()}},
			}}},
		}},
		Keys: []ui.Binding{
			{Keys: []ui.Key{"o"}, ID: "sources", Does: "sources and licences of the built-in songs"},
			{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"},
		},
		Focus: "card",
	}
}

func (s *settings) sound() ui.Item {
	p := s.st.prefs
	list := ui.List{ID: "card", Label: "sound card", Show: 4, Rows: []ui.ListRow{{Text: "as the system chooses"}}}
	for i, c := range s.cards {
		list.Rows = append(list.Rows, ui.ListRow{Text: c.Name, Aside: ratesText(c.RatesHz)})
		if c.ID == p.Device && p.Device != "" {
			list.Chosen = i + 1
		}
	}
	items := []ui.Item{
		list,
		ui.Choice{ID: "rate", Label: "rate, where the card has it", Chosen: slices.Index(ratesHz, p.RateHz),
			Options: options("as the material", "44.1 kHz", "48 kHz", "96 kHz")},
		ui.Choice{ID: "buffer", Label: "frames at a time", Chosen: slices.Index(periods, p.PeriodFrames),
			Options: options("128", "256", "512", "1024"), Tip: "More where the sound breaks up, fewer where switching feels late."},
		ui.Text{Text: s.latency(), Ink: ui.SoftInk},
	}
	if s.problem != nil {
		items = append(items, ui.Note{Text: sentence(s.problem), Problem: true})
	}
	return ui.Column{Items: append(items, soundNote(s.st))}
}

// latency says how the card was opened.
func (s *settings) latency() string {
	o := s.st.world.Cards.Opened()
	switch {
	case s.busy:
		return "Opening the sound."
	case o.RateHz == 0:
		return "No sound card is open."
	case o.PeriodFrames == 0:
		return fmt.Sprintf("%s at %s.", o.Name, hertz(o.RateHz))
	}
	return fmt.Sprintf("%s at %s, %d × %d frames: %.1f ms from here to the card.", o.Name, hertz(o.RateHz), o.Periods, o.PeriodFrames, o.LatencyMS)
}

func options(labels ...string) []ui.Option {
	o := make([]ui.Option, len(labels))
	for i, l := range labels {
		o[i].Label = l
	}
	return o
}

func ratesText(ratesHz []float64) string {
	if len(ratesHz) == 0 {
		return ""
	}
	texts := make([]string, 0, 3)
	for _, r := range ratesHz {
		texts = append(texts, strings.TrimSuffix(hertz(r), " kHz"))
	}
	if len(texts) > 3 {
		return texts[0] + " to " + texts[len(texts)-1] + " kHz"
	}
	return strings.Join(texts, ", ") + " kHz"
}

func (s *settings) look() ui.Item {
	p := s.st.prefs
	percent := ui.Scale{Min: 100, Max: 200, Step: 10, Coarse: 5}
	for v := 100.0; v <= 200; v += 25 {
		percent.Ticks = append(percent.Ticks, ui.Tick{Value: v, Label: fmt.Sprintf("%.0f %%", v)})
	}
	return ui.Column{Items: []ui.Item{
		ui.Choice{ID: "theme", Label: "light", Chosen: boolIndex(p.Night), Options: options("day", "night")},
		ui.Slider{ID: "text", Label: "size of text", Scale: percent, Value: math.Round(100 * p.TextScale), ValueText: fmt.Sprintf("%.0f %%", 100*p.TextScale)},
		ui.Choice{ID: "motion", Label: "movement", Chosen: boolIndex(p.Still), Options: options("curves move", "nothing moves")},
	}}
}

func boolIndex(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (s *settings) practice() ui.Item {
	p := s.st.prefs
	return ui.Column{Items: []ui.Item{
		ui.Choice{ID: "transducer", Label: "you listen on; results are kept apart", Chosen: slices.Index(transducers, p.Transducer),
			Options: options("headphones", "loudspeakers", "unstated")},
		ui.Choice{ID: "trials", Label: "trials in a sitting", Chosen: slices.Index(lengths, p.Trials), Options: options("10", "20", "30")},
		ui.Button{ID: "sources", Label: "Sources and licences"},
	}}
}
