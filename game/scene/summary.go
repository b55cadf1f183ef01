package scene

import (
	"fmt"
	"strconv"

	"strop/drills"
	"strop/drills/progress"
	"strop/game/ui"
)

// summary is what a sitting showed.
type summary struct {
	st       *Stage
	standing Standing
	records  []drills.Record
	result   progress.Result
}

var _ Scene = (*summary)(nil)

func newSummary(st *Stage, s Sitting) *summary {
	records := s.Session.Records()
	p := progress.Summarise(records, st.world.Find, st.world.Where)
	return &summary{st: st, standing: s.Standing, records: records, result: p.Results[0]}
}

func (s *summary) Do(a ui.Action) {
	if a.Kind != ui.Pressed {
		return
	}
	switch a.ID {
	case "done":
		s.st.back()
	case "another":
		s.st.replace(newDrill(s.st))
	case "progress":
		s.st.replace(newProgress(s.st))
	}
}

func (s *summary) Page() ui.Page {
	facts := ui.Column{Gap: ui.Tight, Items: []ui.Item{
		ui.Text{Text: "Right where something was changed: " + progress.ShareText(s.result.Overall.Right)},
	}}
	if s.result.FalseAlarms.Of > 0 {
		facts.Items = append(facts.Items, ui.Text{Text: fmt.Sprintf("Heard where nothing was changed: %d of %d", s.result.FalseAlarms.Count, s.result.FalseAlarms.Of)})
	}
	if e := s.result.Overall.Error; e != nil {
		facts.Items = append(facts.Items, ui.Text{Text: "Off by " + progress.MeanText(e.Size, s.result.Unit)})
	}
	for _, b := range s.result.Biases {
		facts.Items = append(facts.Items, ui.Note{Text: b.Text})
	}
	return ui.Page{
		Name: "summary", Title: drills.TitleBy(s.standing.Tool.Title, s.standing.Rung.Title), Aside: progress.ConditionText(s.result.Condition),
		Question: s.question(),
		Body: ui.Column{Items: []ui.Item{
			facts,
			ui.Grow{Item: ladderChart(s.standing.Tool, s.records)},
			ui.Row{Items: []ui.Item{
				ui.Button{ID: "done", Label: "Done", Mark: ui.Done, Primary: true},
				ui.Button{ID: "another", Label: "Another sitting", Mark: ui.Again},
				ui.Button{ID: "progress", Label: "Progress"},
			}},
		}},
		Keys: []ui.Binding{
			{Keys: []ui.Key{ui.KeyEnter, ui.KeyEscape}, ID: "done", Does: "done"},
			{Keys: []ui.Key{"a"}, ID: "another", Does: "another sitting"},
			{Keys: []ui.Key{"p"}, ID: "progress", Does: "progress"},
		},
		Focus: "done",
	}
}

func (s *summary) question() string {
	right := 0
	for _, r := range s.records {
		if r.Score.Right {
			right++
		}
	}
	return fmt.Sprintf("%d of %s right.", right, count(len(s.records), "trial"))
}

// ladderChart is the size of the change from trial to trial, and which were
// right.
func ladderChart(tool drills.Tool, records []drills.Record) ui.Item {
	series := map[bool]*ui.Series{
		true:  {Label: "right", Ink: ui.Data1, Mark: ui.Dot, Loose: true},
		false: {Label: "wrong", Ink: ui.Data2, Mark: ui.Cross, Loose: true},
	}
	path := ui.Series{Label: tool.Level.Name, Ink: ui.SoftInk}
	for i, r := range records {
		x := float64(i + 1)
		text := fmt.Sprintf("trial %d: %s", i+1, progress.WithUnit(r.Trial.Level, tool.Level.Unit))
		path.Points = append(path.Points, ui.ChartPoint{X: x, Y: r.Trial.Level, Text: text})
		s := series[r.Score.Right]
		s.Points = append(s.Points, ui.ChartPoint{X: x, Y: r.Trial.Level, Text: text})
	}
	return ui.Chart{
		X:      ui.Axis{Label: "trial", Scale: trialScale(len(records))},
		Y:      ui.Axis{Label: tool.Level.Name + ", " + tool.Level.Unit, Scale: zeroScale(tool.Level.Max)},
		Series: []ui.Series{path, *series[true], *series[false]},
	}
}

// trialScale numbers trials.
func trialScale(n int) ui.Scale {
	s := ui.Scale{Min: 0.5, Max: float64(max(n, 2)) + 0.5}
	every := max(1, (n+9)/10)
	for i := 1; i <= n; i++ {
		tick := ui.Tick{Value: float64(i)}
		if i%every == 0 {
			tick.Label = strconv.Itoa(i)
		}
		s.Ticks = append(s.Ticks, tick)
	}
	return s
}
