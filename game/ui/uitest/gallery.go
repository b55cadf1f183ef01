package uitest

import (
	"fmt"
	"math"

	"strop/game/ui"
)

// Gallery is pages that hold every item in every state. They look like
// screens, so that a picture of them can be judged.
func Gallery() []ui.Page {
	asking := Answering()
	dialogue := Answering()
	dialogue.Name = "dialogue"
	dialogue.Dialogue = &ui.Dialogue{
		Title: "Leave this session?",
		Text:  "Three trials have been answered and are kept. The fourth will be forgotten.",
		Buttons: []ui.Button{
			{ID: "stay", Label: "Stay", Primary: true},
			{ID: "leave", Label: "Leave"},
		},
		Cancel: "stay",
	}
	return []ui.Page{asking, Bands(), Feedback(), Material(), Progress(), Settings(), dialogue, Help()}
}

// Hz writes a frequency as the trade does.
func Hz(v float64) string {
	if v >= 1000 {
		return fmt.Sprintf("%.3gk", v/1000)
	}
	return fmt.Sprintf("%.3g", v)
}

// Frequency is the scale of hearing.
func Frequency() ui.Scale {
	return ui.Scale{Min: 20, Max: 20000, Log: true, Step: math.Pow(2, 1.0/24), Coarse: 8, Ticks: ui.LogTicks(20, 20000, Hz)}
}

var trialKeys = []ui.Binding{
	{Keys: []ui.Key{ui.KeySpace}, ID: "play", Does: "play or stop"},
	{Keys: []ui.Key{"u"}, ID: "untouched", Does: "untouched"},
	{Keys: []ui.Key{"c"}, ID: "changed", Does: "changed"},
	{Keys: []ui.Key{"n"}, ID: "nothing", Does: "nothing was changed"},
	{Keys: []ui.Key{ui.KeyEnter}, ID: "answer", Does: "answer"},
	{Keys: []ui.Key{"?"}, ID: "help", Does: "help"},
}

func transport(sides ...ui.Option) ui.Item {
	return ui.Row{Items: []ui.Item{
		ui.Button{ID: "play", Label: "Stop", Mark: ui.Stop},
		ui.Choice{ID: "side", Options: sides, Chosen: 1, Tip: "Which side is heard. Both are equally loud."},
		ui.Grow{Item: ui.Space{}},
		ui.Button{ID: "solo", Label: "Solo", Off: "one file only"},
	}}
}

// Answering is a question on a free cursor.
func Answering() ui.Page {
	return ui.Page{
		Name: "drill", Title: "EQ band", Aside: "trial 3 of 12", Question: "Which frequency was raised in the vocal?",
		Body: ui.Column{Items: []ui.Item{
			transport(ui.Option{ID: "untouched", Label: "untouched"}, ui.Option{ID: "changed", Label: "changed"}),
			ui.Grow{Item: ui.Ruler{
				ID: "ruler", Label: "frequency, Hz", Scale: Frequency(), Value: 2500, Set: true, ValueText: "2.5 kHz",
				Accepts: "0123456789.,kK", Tip: "Arrow keys move by a quarter tone, with Shift by a third of an octave.",
			}},
			ui.Row{Items: []ui.Item{
				ui.Button{ID: "answer", Label: "Answer", Primary: true},
				ui.Button{ID: "nothing", Label: "Nothing was changed"},
			}},
		}},
		Keys: trialKeys, Focus: "ruler",
	}
}

// Bands is a question on seven bands, with a value that was typed wrongly.
func Bands() ui.Page {
	ruler := ui.Ruler{
		ID: "ruler", Label: "frequency, Hz", Scale: Frequency(), Value: 1000, Set: true, ValueText: "1 kHz band",
		Accepts: "0123456789.,kK", Entry: "2k5k", Problem: "“2k5k” is not a frequency: write it as 2500, 2.5k or 2k5.",
	}
	edges := []float64{20, 60, 150, 400, 1200, 3500, 9000, 20000}
	for i, name := range []string{"sub", "low", "low mid", "mid", "presence", "treble", "air"} {
		ruler.Bands = append(ruler.Bands, ui.Band{Lo: edges[i], Hi: edges[i+1], Label: name})
	}
	return ui.Page{
		Name: "bands", Title: "EQ band", Aside: "trial 1 of 12", Question: "In which band was the drum group lowered?",
		Body: ui.Column{Items: []ui.Item{
			transport(ui.Option{ID: "untouched", Label: "untouched"}, ui.Option{ID: "changed", Label: "changed"}),
			ui.Grow{Item: ruler},
			ui.Row{Items: []ui.Item{ui.Button{ID: "answer", Label: "Answer", Primary: true}}},
		}},
		Keys: trialKeys, Focus: "side",
	}
}

// bell is a peak filter's response, drawn by its formula in octaves.
func bell(freqHz, gainDB float64) []ui.Point {
	points := make([]ui.Point, 121)
	for i := range points {
		hz := 20 * math.Pow(1000, float64(i)/120)
		oct := math.Log2(hz / freqHz)
		points[i] = ui.Point{X: hz, Y: gainDB / (1 + 4*oct*oct)}
	}
	return points
}

// Feedback is the truth and the answer on one ruler, the curve on its way.
func Feedback() ui.Page {
	return ui.Page{
		Name: "feedback", Title: "EQ band", Aside: "trial 3 of 12", Question: "Raised at 3.15 kHz by 6 dB; you said 2.5 kHz.",
		Body: ui.Column{Items: []ui.Item{
			transport(ui.Option{ID: "untouched", Label: "untouched"}, ui.Option{ID: "changed", Label: "changed"}, ui.Option{ID: "mine", Label: "mine"}),
			ui.Grow{Item: ui.Ruler{
				ID: "ruler", Label: "frequency, Hz", Scale: Frequency(), Off: true,
				Marks: []ui.RulerMark{
					{Label: "truth 3.15 kHz", Value: 3150, Lo: 2500, Hi: 4000, Ink: ui.Data1, Mark: ui.Dot},
					{Label: "answer 2.5 kHz", Value: 2500, Ink: ui.Data2, Mark: ui.Square, Dash: ui.Dashed},
				},
				Y: ui.Scale{Min: -9, Max: 9, Ticks: []ui.Tick{{Value: -6, Label: "−6 dB"}, {Value: 0, Label: "0 dB"}, {Value: 6, Label: "+6 dB"}}},
				Curves: []ui.Curve{
					{Label: "truth", Points: bell(3150, 6), From: bell(2500, 6), Ink: ui.Data1, Mark: ui.Dot},
					{Label: "answer", Points: bell(2500, 6), Ink: ui.Data2, Dash: ui.Dashed, Mark: ui.Square},
				},
			}},
			ui.Note{Text: "A third of an octave low. The next one will be 5 dB."},
			ui.Row{Items: []ui.Item{
				ui.Button{ID: "next", Label: "Next trial", Primary: true, Mark: ui.Forth},
				ui.Button{ID: "again", Label: "Hear it again", Mark: ui.Again},
			}},
		}},
		Keys: append([]ui.Binding{
			{Keys: []ui.Key{ui.KeyEnter}, ID: "next", Does: "next trial"},
			{Keys: []ui.Key{"m"}, ID: "mine", Does: "mine"},
		}, trialKeys[0], trialKeys[1], trialKeys[2], trialKeys[5]),
		Focus: "next", Progress: 0.5, Toast: ui.Toast{Text: "Recorded."},
	}
}

// Material is the list of songs, a waveform, work that takes time, and a problem.
func Material() ui.Page {
	list := ui.List{ID: "songs", Label: "material", Chosen: 2, Show: 5}
	for i := range 24 {
		list.Rows = append(list.Rows, ui.ListRow{Text: fmt.Sprintf("%02d Song with stems", i+1), Aside: fmt.Sprintf("%d stems", 4+i%9)})
	}
	peaks := make([]ui.Peak, 900)
	for i := range peaks {
		x := float64(i) / 900
		level := float32((0.25 + 0.65*math.Abs(math.Sin(9*x))) * (0.35 + 0.65*math.Exp(-math.Mod(x*48, 1)*3)))
		peaks[i] = ui.Peak{Lo: -0.9 * level, Hi: level}
	}
	times := ui.Scale{Min: 0, Max: 192, Step: 0.5, Coarse: 8}
	for s := 0.0; s <= 192; s += 12 {
		tick := ui.Tick{Value: s}
		if math.Mod(s, 24) == 0 {
			tick.Label = fmt.Sprintf("%d:%02d", int(s)/60, int(s)%60)
		}
		times.Ticks = append(times.Ticks, tick)
	}
	return ui.Page{
		Name: "material", Title: "Material",
		Body: ui.Column{Items: []ui.Item{
			ui.Row{Stretch: true, Items: []ui.Item{
				ui.Grow{Item: list},
				ui.Grow{Item: ui.Column{Items: []ui.Item{
					ui.Field{ID: "folder", Label: "folder", Value: "~/Music/no such", Problem: "There is no such folder; choose one or drop it here."},
					ui.Field{ID: "search", Label: "search", Hint: "part of a name"},
					ui.Progress{Label: "measuring loudness", Part: 0.3, Text: "7 of 24 songs"},
					ui.Progress{Label: "looking for stems", Part: -1},
					ui.Row{Items: []ui.Item{ui.Button{ID: "cancel", Label: "Cancel", Mark: ui.Cross}, ui.Button{ID: "open", Label: "Open a file"}}},
				}}},
			}},
			ui.Grow{Item: ui.Waveform{
				ID: "wave", Label: "03 Song with stems", Scale: times, Peaks: peaks, Lo: 58, Hi: 74, LoopText: "loop 0:58 to 1:14",
				Playhead: 64, Playing: true,
			}},
		}},
		Keys: []ui.Binding{
			{Keys: []ui.Key{ui.KeySpace}, ID: "play", Does: "play or stop"},
			{Keys: []ui.Key{"/"}, ID: "search", Does: "search"},
			{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"},
		},
		Focus: "songs",
	}
}

// Progress is thresholds over time, and a table of skills.
func Progress() ui.Page {
	var eq, level ui.Series
	eq = ui.Series{Label: "EQ band", Ink: ui.Data1, Mark: ui.Dot}
	level = ui.Series{Label: "level", Ink: ui.Data2, Mark: ui.Square, Dash: ui.Dashed}
	for day := range 9 {
		x := float64(day * 3)
		y := 6.5 - 0.4*float64(day) + 0.5*math.Sin(x)
		eq.Points = append(eq.Points, ui.ChartPoint{X: x, Y: y, Lo: y - 1.2, Hi: y + 1.4})
		y = 2.4 - 0.15*float64(day)
		level.Points = append(level.Points, ui.ChartPoint{X: x, Y: y, Lo: y - 0.5, Hi: y + 0.5, Text: fmt.Sprintf("day %g: %.1f dB", x, y)})
	}
	days := ui.Scale{Min: -1, Max: 25}
	for d := 0.0; d <= 24; d += 6 {
		days.Ticks = append(days.Ticks, ui.Tick{Value: d, Label: fmt.Sprint(d)})
	}
	db := ui.Scale{Min: 0, Max: 9}
	for v := 0.0; v <= 9; v += 3 {
		db.Ticks = append(db.Ticks, ui.Tick{Value: v, Label: fmt.Sprintf("%g dB", v)})
	}
	return ui.Page{
		Name: "progress", Title: "Progress", Aside: "108 trials",
		Body: ui.Column{Gap: ui.Wide, Items: []ui.Item{
			ui.Grow{Item: ui.Chart{
				X: ui.Axis{Label: "day", Scale: days}, Y: ui.Axis{Label: "smallest change heard", Scale: db}, Series: []ui.Series{eq, level},
			}},
			ui.Table{
				ID: "skills", Label: "skills", Chosen: 1, Show: 4,
				Columns: []ui.TableColumn{{Title: "skill"}, {Title: "where"}, {Title: "threshold", Number: true}, {Title: "interval", Number: true}, {Title: "trials", Number: true}},
				Rows: [][]string{
					{"EQ band", "low", "4.5 dB", "3.0 to 6.5", "31"},
					{"EQ band", "presence", "3.2 dB", "2.4 to 4.3", "44"},
					{"level", "vocal in the mix", "1.2 dB", "0.8 to 1.9", "28"},
					{"reverb decay", "snare", "0.4 s", "0.2 to 0.9", "5"},
				},
			},
		}},
		Keys:  []ui.Binding{{Keys: []ui.Key{ui.KeyEnter}, ID: "skills", Does: "open the skill"}, {Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"}},
		Focus: "skills",
	}
}

// Settings is panels of sliders and choices.
func Settings() ui.Page {
	pct := ui.Scale{Min: 100, Max: 200, Step: 10, Coarse: 5, Ticks: []ui.Tick{{Value: 100, Label: "100 %"}, {Value: 125}, {Value: 150, Label: "150 %"}, {Value: 175}, {Value: 200, Label: "200 %"}}}
	level := ui.Scale{Min: -60, Max: 0, Step: 0.5, Ticks: []ui.Tick{{Value: -60, Label: "−60"}, {Value: -48}, {Value: -36, Label: "−36"}, {Value: -24, Label: "−24"}, {Value: -12, Label: "−12"}, {Value: 0, Label: "0 dB"}}}
	return ui.Page{
		Name: "settings", Title: "Settings",
		Body: ui.Column{Items: []ui.Item{
			ui.Row{Stretch: true, Items: []ui.Item{
				ui.Grow{Item: ui.Panel{Title: "Sound", Item: ui.Column{Items: []ui.Item{
					ui.Choice{ID: "rate", Label: "sample rate", Options: []ui.Option{{Label: "44.1 kHz"}, {Label: "48 kHz"}, {Label: "96 kHz"}}, Chosen: 1},
					ui.Slider{ID: "gain", Label: "gain below full scale", Scale: level, Value: -18, ValueText: "−18 dB"},
					ui.Note{Text: "Set it once with pink noise, then leave it. Start low: loud sound harms hearing."},
				}}}},
				ui.Grow{Item: ui.Panel{Title: "Look", Item: ui.Column{Items: []ui.Item{
					ui.Choice{ID: "theme", Label: "theme", Options: []ui.Option{{Label: "day"}, {Label: "night"}}, Chosen: 0},
					ui.Slider{ID: "text", Label: "text size", Scale: pct, Value: 120, ValueText: "120 %"},
					ui.Row{Items: []ui.Item{ui.Button{ID: "loop", Label: "Loop", Mark: ui.Again, On: true}, ui.Button{ID: "pause", Mark: ui.Pause, Label: "Pause"}, ui.Button{ID: "prev", Mark: ui.Back}}},
				}}}},
			}},
			ui.Divider{},
			ui.Note{Text: "No sound card answers; everything else works. Plug one in and choose it here.", Problem: true},
			ui.Stack{Items: []ui.Item{ui.Text{Text: "latency 11 ms at 48 kHz and 512 frames", Size: ui.Small, Ink: ui.SoftInk}}},
			ui.Scroll{ID: "licences", HeightPx: 60, Item: ui.Text{Text: "What strop is made of: its own processors, and libraries by others, each with its licence. They are listed in full in NOTICES. Thank you to everyone who keeps them well."}},
		}},
		Keys:  []ui.Binding{{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"}},
		Focus: "gain",
	}
}

// Help is the key table of the trial and the keys that every page has.
func Help() ui.Page {
	return ui.Page{
		Name: "help", Title: "Help",
		Body: ui.Row{Stretch: true, Items: []ui.Item{
			ui.Grow{Item: ui.Panel{Title: "This screen", Item: ui.HelpTable(trialKeys)}},
			ui.Grow{Item: ui.Panel{Title: "Every screen", Item: ui.HelpTable(ui.StandardKeys())}},
		}},
		Keys: []ui.Binding{{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"}},
	}
}
