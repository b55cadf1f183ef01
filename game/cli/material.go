package cli

import (
	"context"
	"fmt"
	"math"
	"strings"
	"text/tabwriter"
	"time"

	"strop/content/intake"
	"strop/game/desk"
)

type materialCommand struct {
	List    materialList    `cmd:"" help:"List what there is to practise on: your songs, then the built-in ones."`
	Add     materialAdd     `cmd:"" help:"Put files and folders of stems into the library. They are remembered, never copied or changed."`
	Check   materialCheck   `cmd:"" help:"Look a song over as for a job: format, peaks, faults, noise, polarity, tuning and timing of every stem."`
	Forget  materialForget  `cmd:"" help:"Take a material out of the library. Its files and your answers stay."`
	Tag     materialTag     `cmd:"" help:"Give a material tags, in place of those it has."`
	Collect materialCollect `cmd:"" help:"Put materials into a collection, which strop text --material NAME practises on in turn."`
}

type materialList struct {
	JSON bool `help:"Print as JSON." name:"json"`
}

// materialRow is a material as JSON.
type materialRow struct {
	Name        string          `json:"name"`
	Demo        bool            `json:"demo"`
	ID          string          `json:"id,omitempty"` // a word to ask for a built-in piece by
	Path        string          `json:"path,omitempty"`
	Missing     bool            `json:"missing,omitempty"` // it is not where it was last
	Hash        string          `json:"hash"`
	DurationS   float64         `json:"durationS"`
	RateHz      float64         `json:"rateHz"`
	LastUsed    *time.Time      `json:"lastUsed,omitempty"`
	Tags        []string        `json:"tags,omitempty"`
	Collections []string        `json:"collections,omitempty"`
	Stems       []desk.StemLine `json:"stems"`
}

func rowOf(e desk.Entry) materialRow {
	r := materialRow{
		Name: e.Title, Demo: e.Demo != "", ID: e.Demo, Path: e.Path, Missing: e.Missing(), Hash: e.Hash, DurationS: e.DurationS,
		RateHz: e.RateHz, Tags: e.Tags, Collections: e.Collections, Stems: append([]desk.StemLine{}, e.Stems...),
	}
	if !e.LastUsed.IsZero() {
		r.LastUsed = &e.LastUsed
	}
	return r
}

// Run lists the library.
func (c *materialList) Run(ctx context.Context, env Env) error {
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	entries, err := d.Library(ctx)
	if err != nil {
		return err
	}
	if c.JSON {
		rows := make([]materialRow, len(entries))
		for i, e := range entries {
			rows[i] = rowOf(e)
		}
		return printJSON(env.Stdout, rows)
	}
	w := tabwriter.NewWriter(env.Stdout, 0, 0, 2, ' ', 0)
	for _, e := range entries {
		fmt.Fprintf(w, "%s\t%s\t%g kHz\t%s\t%s\n", e.Title, minutesText(e.DurationS), e.RateHz/1000, stemsText(e), whereText(e))
	}
	return w.Flush()
}

func minutesText(s float64) string {
	whole := int(math.Round(s))
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

func stemsText(e desk.Entry) string {
	switch n := len(e.Stems); n {
	case 0:
		return "not opened yet"
	case 1:
		return "one mix"
	default:
		return fmt.Sprintf("%d stems", n)
	}
}

// whereText is where a material lies and what it is found under.
func whereText(e desk.Entry) string {
	text := e.Path
	switch {
	case e.Demo != "":
		text = "built in: " + e.Demo
	case e.Missing():
		text += " (not there now)"
	}
	if len(e.Collections) > 0 {
		text += "; in " + strings.Join(e.Collections, ", ")
	}
	if len(e.Tags) > 0 {
		text += "; " + strings.Join(e.Tags, ", ")
	}
	return text
}

type materialAdd struct {
	Paths []string `arg:"" name:"path" help:"A file, or a folder of stems."`
}

// Run adds what can be added, and tells of the first that cannot.
func (c *materialAdd) Run(ctx context.Context, env Env) error {
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	for _, path := range c.Paths {
		e, before, warnings, err := d.Add(ctx, path)
		if err != nil {
			return err
		}
		fmt.Fprintf(env.Stdout, "%s: %s, %s, %g kHz.\n", e.Title, stemsText(e), minutesText(e.DurationS), e.RateHz/1000)
		switch {
		case before == nil:
		case before.Path == e.Path:
			fmt.Fprintln(env.Stdout, "It was in the library already.")
		default:
			fmt.Fprintf(env.Stdout, "It holds the same as %s: one material, now remembered here.\n", before.Path)
		}
		for _, w := range warnings {
			fmt.Fprintf(env.Stdout, "%s.\n", w)
		}
	}
	return nil
}

type materialForget struct {
	Name string `arg:"" help:"Its path, or its name in the list."`
}

// Run forgets one material.
func (c *materialForget) Run(ctx context.Context, env Env) error {
	d, e, err := openEntry(ctx, env, c.Name)
	if err != nil {
		return err
	}
	defer d.Close()
	if e.Demo != "" && e.LastUsed.IsZero() && len(e.Tags)+len(e.Collections) == 0 {
		return fmt.Errorf("%s is built in: there is nothing to forget of it", e.Title)
	}
	if err := d.Forget(ctx, e); err != nil {
		return err
	}
	fmt.Fprintf(env.Stdout, "%s is forgotten. Its files were not touched, and your answers stay.\n", e.Title)
	return nil
}

// openEntry opens the desk and finds a material on it.
func openEntry(ctx context.Context, env Env, name string) (*desk.Desk, desk.Entry, error) {
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return nil, desk.Entry{}, err
	}
	e, err := d.Find(ctx, name)
	if err != nil {
		d.Close()
		return nil, desk.Entry{}, err
	}
	return d, e, nil
}

type materialTag struct {
	Name string   `arg:"" help:"The path of a material, or its name in the list."`
	Tags []string `arg:"" optional:"" help:"Its tags; none takes them away."`
}

// Run sets the tags of one material.
func (c *materialTag) Run(ctx context.Context, env Env) error {
	d, e, err := openEntry(ctx, env, c.Name)
	if err != nil {
		return err
	}
	defer d.Close()
	if err := d.SetLabels(ctx, e.Hash, c.Tags, e.Collections); err != nil {
		return err
	}
	fmt.Fprintf(env.Stdout, "%s: %s.\n", e.Title, orNone(c.Tags, "no tags"))
	return nil
}

type materialCollect struct {
	Collection string   `arg:"" help:"Name of the collection."`
	Names      []string `arg:"" name:"material" help:"Materials, by path or name."`
	Out        bool     `help:"Take them out of it."`
}

// Run changes what is in a collection.
func (c *materialCollect) Run(ctx context.Context, env Env) error {
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	var entries []desk.Entry
	for _, name := range c.Names {
		e, err := d.Find(ctx, name)
		if err != nil {
			return err
		}
		entries = append(entries, e)
	}
	for _, e := range entries {
		now := without(e.Collections, c.Collection)
		if !c.Out {
			now = append(now, c.Collection)
		}
		if err := d.SetLabels(ctx, e.Hash, e.Tags, now); err != nil {
			return err
		}
		fmt.Fprintf(env.Stdout, "%s: %s.\n", e.Title, orNone(now, "in no collection"))
	}
	return nil
}

func without(names []string, name string) (others []string) {
	for _, n := range names {
		if n != name {
			others = append(others, n)
		}
	}
	return others
}

func orNone(names []string, none string) string {
	if len(names) == 0 {
		return none
	}
	return strings.Join(names, ", ")
}

type materialCheck struct {
	Name string `arg:"" help:"A folder of stems, a file, or the name of a material."`
	JSON bool   `help:"Print as JSON." name:"json"`
}

// Run looks a song over.
func (c *materialCheck) Run(ctx context.Context, env Env) error {
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	song, err := d.OpenNamed(ctx, c.Name)
	if err != nil {
		return err
	}
	defer song.Close()
	report, err := intake.Check(ctx, song.Tracks, c.progress(env))
	if err != nil {
		return err
	}
	if c.JSON {
		return printJSON(env.Stdout, report)
	}
	return report.WriteText(env.Stdout)
}

// progress tells a waiting person of every quarter.
func (c *materialCheck) progress(env Env) func(share float64) {
	if c.JSON || !env.Patient {
		return nil
	}
	told := 0.0
	return func(share float64) {
		if share >= told+0.25 && share < 1 {
			told = share
			fmt.Fprintf(env.Stderr, "Looked over: %.0f %%.\n", 100*share)
		}
	}
}
