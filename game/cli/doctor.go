package cli

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"runtime/debug"
	"strings"

	"strop/drills/sqlite"
	"strop/game/desk"
	"strop/game/player/card"
)

type doctorCommand struct {
	JSON bool `help:"Print as JSON." name:"json"`
}

// diagnosis is what strop doctor says.
type diagnosis struct {
	Version string       `json:"version"`
	Go      string       `json:"go"`
	System  string       `json:"system"`
	Display bool         `json:"display"`
	Sound   soundHealth  `json:"sound"`
	Store   storeHealth  `json:"store"`
	Formats formatHealth `json:"formats"`
}

type soundHealth struct {
	Devices []deviceHealth `json:"devices"`
	Problem string         `json:"problem,omitempty"`
}

type deviceHealth struct {
	Name    string    `json:"name"`
	ID      string    `json:"id"`
	RatesHz []float64 `json:"ratesHz"`
	Default bool      `json:"default"`
}

type storeHealth struct {
	Path    string `json:"path"`
	Exists  bool   `json:"exists"`
	Records int    `json:"records"`
	SQLite  string `json:"sqlite"`
	Problem string `json:"problem,omitempty"`
}

type formatHealth struct {
	Own    []string `json:"own"`
	FFmpeg string   `json:"ffmpeg"` // where it is, "" where it is not
}

// Run says what was found. It changes nothing: a history that is not there
// is not begun.
func (c *doctorCommand) Run(ctx context.Context, env Env) error {
	d := diagnosis{
		Version: version(), Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH,
		Display: env.Display, Sound: soundOf(), Store: storeOf(ctx, env.DataDir), Formats: formats(),
	}
	if c.JSON {
		return printJSON(env.Stdout, d)
	}
	d.print(env)
	return nil
}

func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "unknown"
}

func soundOf() (s soundHealth) {
	s.Devices = []deviceHealth{}
	devices, err := card.Devices()
	if err != nil {
		s.Problem = err.Error()
	} else if len(devices) == 0 {
		s.Problem = "no sound card was found"
	}
	for _, d := range devices {
		s.Devices = append(s.Devices, deviceHealth{Name: d.Name, ID: d.ID, RatesHz: d.RatesHz, Default: d.Default})
	}
	return s
}

func storeOf(ctx context.Context, dataDir string) storeHealth {
	s := storeHealth{Path: desk.HistoryPath(dataDir), SQLite: sqlite.Version()}
	if _, err := os.Stat(s.Path); err != nil {
		return s
	}
	s.Exists = true
	db, err := sqlite.Open(s.Path)
	if err != nil {
		s.Problem = err.Error()
		return s
	}
	defer db.Close()
	records, err := db.Records(ctx, "")
	if err != nil {
		s.Problem = err.Error()
	}
	s.Records = len(records)
	return s
}

func formats() formatHealth {
	f := formatHealth{Own: []string{"WAV", "RF64", "BWF", "AIFF", "AIFC", "FLAC", "Ogg Vorbis", "Opus", "MP3"}}
	f.FFmpeg, _ = exec.LookPath("ffmpeg") // "" says that it is not there
	return f
}

func (d diagnosis) print(env Env) {
	say := func(format string, args ...any) { fmt.Fprintf(env.Stdout, format+"\n", args...) }
	say("strop %s, built with %s, on %s", d.Version, d.Go, d.System)
	say("display: %s", map[bool]string{true: "found", false: "none; the terminal is used"}[d.Display])
	for _, dev := range d.Sound.Devices {
		mark := ""
		if dev.Default {
			mark = " (default)"
		}
		say("sound card: %s%s, rates %v", dev.Name, mark, dev.RatesHz)
	}
	if d.Sound.Problem != "" {
		say("sound: %s", d.Sound.Problem)
	}
	say("history: %s, %s, SQLite %s", d.Store.Path, d.Store.state(), d.Store.SQLite)
	say("formats: %s", strings.Join(d.Formats.Own, ", "))
	if d.Formats.FFmpeg == "" {
		say("ffmpeg: not found; M4A and other formats cannot be opened without it")
	} else {
		say("ffmpeg: %s, for M4A and the rest", d.Formats.FFmpeg)
	}
}

func (s storeHealth) state() string {
	switch {
	case s.Problem != "":
		return s.Problem
	case !s.Exists:
		return "not begun yet"
	}
	return fmt.Sprintf("%d answers", s.Records)
}
