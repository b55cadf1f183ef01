// Strop-window is the daily drill in a window. strop starts it where there is
// a display.
package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"log"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/adrg/xdg"
	"github.com/alecthomas/kong"

	"strop/drills"
	"strop/drills/tools"
	"strop/game/desk"
	"strop/game/live"
	"strop/game/prefs"
	"strop/game/scene"
)

// options is the command line; what it shares with strop text means the same.
type options struct {
	Material   string   `help:"A song: a file to practise on, or the name of a built-in piece. Without it, the one used last." placeholder:"FILE"`
	Trials     int      `help:"How many trials; 0: as in the settings." default:"0"`
	Seed       *uint64  `help:"Makes the sitting repeatable."`
	Drill      string   `help:"What is asked: the ID of a drill (strop drills lists them). Without it, the one chosen last." placeholder:"ID"`
	Way        string   `help:"How to answer (strop drills lists the ways). Without it, the hardest that is open to you." placeholder:"WAY"`
	Transducer string   `help:"What you listen on: headphones, loudspeakers or unstated. Without it, as in the settings." enum:",headphones,loudspeakers,unstated" default:""`
	Device     string   `help:"The sound card, by its name; without it, as in the settings." placeholder:"NAME"`
	Buffer     int      `help:"Frames in a period of the sound card's buffer; 0: as in the settings." default:"0"`
	Silent     bool     `help:"Do not open a sound card."`
	Screen     geometry `help:"Size of the window, such as 1280x800. Without it, as it was last." placeholder:"WxH"`
	Night      bool     `help:"Dark, whatever the settings say."`
	Times      bool     `help:"Print how long it took: to the first frame, to the first sound, while a curve moved."`
}

// geometry is a size as WxH.
type geometry struct{ width, height int }

func (g *geometry) UnmarshalText(text []byte) error {
	if _, err := fmt.Sscanf(string(text), "%dx%d", &g.width, &g.height); err != nil || g.width < leastWidth || g.height < leastHeight {
		return fmt.Errorf("a size is WxH, at least %dx%d", leastWidth, leastHeight)
	}
	return nil
}

// spared is how many threads may run beyond one for each processor. Go lets a
// goroutine that only computes run for 10 ms before another; the system's own
// scheduler, which gets to choose where there are more threads than
// processors, puts one that was asleep, such as the sound card's, first.
const spared = 2

func main() {
	began := time.Now()
	log.SetOutput(io.Discard)                     // some libraries write there; strop says what it has to say itself
	runtime.GOMAXPROCS(runtime.NumCPU() + spared) // window and sound never wait for work in the background
	var o options
	kong.Parse(&o, kong.Name("strop-window"), kong.Description("The daily drill in a window."), kong.UsageOnError())
	if err := run(o, began); err != nil {
		fmt.Fprintf(os.Stderr, "strop: %v\n", err)
		os.Exit(1)
	}
}

func run(o options, began time.Time) error {
	if err := o.check(); err != nil {
		return err
	}
	d, err := desk.Open(filepath.Join(xdg.DataHome, "strop"), time.Now)
	if err != nil {
		return err
	}
	defer d.Close()
	p, _ := prefs.Load(windowLife, d.History) // what cannot be read the stage tells
	p = o.prefer(p)
	l := live.New(d, live.Config{Wish: o.wish(), Open: o.Material, Silent: o.Silent, Prefs: p})
	defer l.Close()
	w, err := newWindow(l, o, began)
	if err != nil {
		return err
	}
	if aside := d.History.Damaged(); aside != "" {
		w.stage.Warn(fmt.Errorf("the history was damaged; it was set aside as %s, and a new one begun", aside))
	}
	return errors.Join(w.run(), rescue(d))
}

// rescue saves the answers that the history did not take, and says where.
func rescue(d *desk.Desk) error {
	told, err := d.Rescue()
	if told != "" {
		fmt.Fprintln(os.Stderr, "strop: "+told)
	}
	return err
}

// check reports a drill, or a way to answer it, that there is not.
func (o options) check() error {
	if o.Drill == "" && o.Way == "" {
		return nil
	}
	tool, err := tools.Find(cmp.Or(o.Drill, tools.Daily()))
	if err == nil && o.Way != "" {
		_, err = tool.Rung(o.Way)
	}
	return err
}

// prefer is p with what the command line says of the sound.
func (o options) prefer(p prefs.Prefs) prefs.Prefs {
	if o.Device != "" {
		p.Device = o.Device
	}
	if o.Buffer != 0 {
		p.PeriodFrames = o.Buffer
	}
	return p
}

func (o options) wish() scene.Wish {
	w := scene.Wish{
		Tool: o.Drill, Rung: o.Way, Trials: o.Trials, Seed: uint64(time.Now().UnixNano()),
		Condition: drills.Condition{Transducer: o.Transducer},
	}
	if o.Seed != nil {
		w.Seed = *o.Seed
	}
	return w
}
