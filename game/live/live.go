// Package live is the World of the screens as it is: the history, the
// material, the sound and the files of this machine, wired through a desk.
package live

import (
	"context"
	"fmt"
	"time"

	"strop/content/demo"
	"strop/drills"
	"strop/drills/progress"
	"strop/drills/tools"
	"strop/game/desk"
	"strop/game/prefs"
	"strop/game/scene"
)

// Config is what a window is started with.
type Config struct {
	Wish   scene.Wish
	Open   string // a file or a built-in piece; "": the one used last
	Silent bool   // open no sound card
	Prefs  prefs.Prefs
}

// Live is everything that the screens need.
type Live struct {
	*desk.Desk
	Room *Room
	cfg  Config
}

// New lays a desk out for screens. The sound is opened in the background.
func New(d *desk.Desk, cfg Config) *Live {
	l := &Live{Desk: d, Room: newRoom(cfg.Silent), cfg: cfg}
	go l.Room.Use(cfg.Prefs) // what is wrong with it is told by Heard
	return l
}

// World is all of it, for a stage.
func (l *Live) World() scene.World {
	return scene.World{
		Clock: l.Clock, Where: time.Local, Find: tools.Find, Tools: tools.All(), History: l.History,
		Library: library{l}, Drills: sitter{l.Desk}, Sound: l.Room, Noise: l.Room, Cards: l.Room,
		Folders: newFolders(), Rescue: l.Desk, Wish: l.cfg.Wish, Open: l.cfg.Open, Sources: sources(),
	}
}

// Close falls silent.
func (l *Live) Close() error { return l.Room.Close() }

// sitter is a desk as Drills.
type sitter struct{ desk *desk.Desk }

var _ scene.Drills = sitter{}

func (s sitter) Stand(ctx context.Context, w scene.Wish) (scene.Standing, error) {
	at, err := s.desk.Stand(ctx, desk.Wish(w))
	return scene.Standing(at), err
}

func (s sitter) Plan(ctx context.Context, w scene.Wish) (scene.Plan, error) {
	p, err := s.desk.Plan(ctx, desk.Wish(w), true)
	plan := scene.Plan{Advice: p.Advice}
	for _, b := range p.Blocks {
		plan.Blocks = append(plan.Blocks, scene.Block{Title: drills.TitleBy(b.Tool.Title, b.Rung.Title), Minutes: b.Minutes, Reason: b.Reason, Break: b.BreakAfter})
	}
	return plan, err
}

func (s sitter) Skills(ctx context.Context) (skills []scene.Skill, foretold []scene.Foretold, err error) {
	state, err := s.desk.State(ctx)
	if err != nil {
		return nil, nil, err
	}
	for _, r := range state.Report(s.desk.Clock()) {
		skills = append(skills, scene.Skill{
			Title: r.Title + ", " + r.Skill.Region, Condition: progress.ConditionText(r.Skill.Condition),
			Answers: fmt.Sprintf("%d of %d", r.Right, r.Answers), Threshold: r.Threshold.Text(), Trend: r.Trend.Text(),
			Confused: r.ConfusedText(), Bias: r.Bias.Text(), Kept: r.KeptText(), Due: r.Due,
		})
	}
	for _, b := range state.Calibration().Bins() {
		foretold = append(foretold, scene.Foretold{Share: b.Predicted, Right: b.Observed, Lo: b.Interval.Lo, Hi: b.Interval.Hi, Answers: b.Trials})
	}
	return skills, foretold, nil
}

func (s sitter) Sit(ctx context.Context, loops drills.Clips, w scene.Wish) (scene.Sitting, error) {
	sitting, err := s.desk.Sit(ctx, loops, desk.Wish(w))
	if err != nil {
		return scene.Sitting{}, err
	}
	return scene.Sitting{Standing: scene.Standing(sitting.Standing), Session: sitting.Session, Trials: sitting.Trials}, nil
}

// sources are those of the built-in songs. They are part of the program: that
// they cannot be read is a fault of it, which a test finds.
func sources() (all []scene.Source) {
	found, err := demo.Sources()
	if err != nil {
		return nil
	}
	for _, s := range found {
		all = append(all, scene.Source{What: s.Group, Author: s.Author, Licence: s.Licence, Package: s.Package, Files: s.Files})
	}
	return all
}
