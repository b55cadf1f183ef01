package cli

import (
	"encoding/json"
	"fmt"

	"strop/drills"
	"strop/drills/tools"
)

type drillsCommand struct {
	JSON bool `help:"Write JSON." name:"json"`
}

// drillRow is one drill as a program reads it.
type drillRow struct {
	ID       string    `json:"id"`
	Title    string    `json:"title"`
	ToolType string    `json:"toolType"`
	Doc      string    `json:"doc"`
	Unit     string    `json:"unit"`   // of the error
	Ladder   ladderRow `json:"ladder"` // what makes it easy or hard
	Ways     []wayRow  `json:"ways"`   // to answer, from easy to hard
	Source   string    `json:"source"`
}

type ladderRow struct {
	Name  string  `json:"name"`
	Unit  string  `json:"unit"`
	Easy  float64 `json:"easy"`
	Start float64 `json:"start"`
	Hard  float64 `json:"hard"`
}

type wayRow struct {
	ID    string `json:"id"`
	Title string `json:"title"`
}

// Run lists the drills.
func (c *drillsCommand) Run(env Env) error {
	rows := drillRows(tools.All())
	if c.JSON {
		out := json.NewEncoder(env.Stdout)
		out.SetIndent("", "  ")
		return out.Encode(rows)
	}
	kind := ""
	for _, r := range rows {
		if r.ToolType != kind {
			kind = r.ToolType
			fmt.Fprintf(env.Stdout, "\n%s\n", kind)
		}
		fmt.Fprintf(env.Stdout, "  %-18s %s %s\n", r.ID, r.Doc, r.ladderText())
		fmt.Fprintf(env.Stdout, "  %-18s answer:", "")
		for i, w := range r.Ways {
			if i > 0 {
				fmt.Fprint(env.Stdout, "; ")
			} else {
				fmt.Fprint(env.Stdout, " ")
			}
			fmt.Fprintf(env.Stdout, "%s (--way %s)", w.Title, w.ID)
		}
		fmt.Fprintln(env.Stdout)
	}
	fmt.Fprintln(env.Stdout, "\nstrop text --drill ID asks one of them.")
	return nil
}

func drillRows(all []drills.Tool) (rows []drillRow) {
	for _, t := range all {
		row := drillRow{
			ID: t.ID, Title: t.Title, ToolType: t.Type, Doc: t.Doc, Unit: t.Unit, Source: t.Source,
			Ladder: ladderRow{Name: t.Level.Name, Unit: t.Level.Unit, Easy: t.Level.Max, Start: t.Level.Neutral, Hard: t.Level.Min},
		}
		for _, r := range t.Rungs {
			row.Ways = append(row.Ways, wayRow{r.ID, r.Title})
		}
		rows = append(rows, row)
	}
	return rows
}

func (r drillRow) ladderText() string {
	return fmt.Sprintf("%s from %g to %g %s.", r.Ladder.Name, r.Ladder.Easy, r.Ladder.Hard, r.Ladder.Unit)
}
