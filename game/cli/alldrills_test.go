package cli

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"strop/drills"
	"strop/drills/drilltest"
	"strop/drills/tools"
	"strop/dsp"
)

// The terminal asks every drill in every way, reads an answer of it, and tells
// the truth.
func TestEveryDrillInTheTerminal(t *testing.T) {
	clips, err := drilltest.Songs()
	if err != nil {
		t.Fatal(err)
	}
	for _, tool := range tools.All() {
		for _, rung := range tool.Rungs {
			t.Run(tool.ID+"/"+rung.ID, func(t *testing.T) {
				t.Parallel()
				askOnce(t, tool, rung, clips)
			})
		}
	}
}

func askOnce(t *testing.T, tool drills.Tool, rung drills.Rung, clips []drills.Clip) {
	var fits []drills.Clip
	for _, c := range clips {
		if _, err := tool.Fit.Targets(c); err == nil {
			fits = append(fits, c)
		}
	}
	store := &kept{}
	session, err := drills.NewSession(drills.Config{
		ID: "once", Trials: 1, Seed: 3, Store: store, Clips: drilltest.Loops(fits), Clock: time.Now,
		Planner: drilltest.At{Tool: tool, Rung: rung, Level: tool.Level.At(0.9)},
		Rotate:  func(r *rand.Rand, heard []int) int { return r.IntN(len(heard)) },
	})
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	input := "u\nc\ns\ns\nl\n?\nno such answer\n" + firstAnswer(tool, rung) + "\nm\n\n"
	d := &textDrill{session: session, trials: 1, ears: deaf{}, clock: time.Now, in: newLines(t.Context(), strings.NewReader(input)), out: &out}
	if err := d.run(t.Context()); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	if len(store.records) != 1 {
		t.Fatalf("%d answers were kept:\n%s", len(store.records), text)
	}
	if !strings.Contains(text, "Right. ") && !strings.Contains(text, "Wrong. ") || strings.Contains(text, "%!") {
		t.Errorf("the truth is not told:\n%s", text)
	}
}

// firstAnswer is an answer that can be typed: the first card, or the middle of
// the scale.
func firstAnswer(tool drills.Tool, rung drills.Rung) string {
	middle := func(p dsp.Param) string { return fmt.Sprintf("%g", p.At(0.6)) }
	if rung.Surface == drills.Knobs {
		var words []string
		for _, p := range tool.Knobs() {
			words = append(words, p.ID+"="+middle(p))
		}
		return strings.Join(words, " ") + "\nok"
	}
	if rung.Surface == drills.Ruler && len(rung.Choices) == 0 || rung.Surface == drills.Arc {
		return middle(tool.Params[0])
	}
	return "1"
}

// deaf hears nothing.
type deaf struct{}

func (deaf) Present(int, float64, [][]dsp.Frame, int) error { return nil }
func (deaf) Switch(int)                                     {}
func (deaf) Restart()                                       {}

// kept are records in memory.
type kept struct{ records []drills.Record }

func (k *kept) Append(_ context.Context, r drills.Record) error {
	k.records = append(k.records, r)
	return nil
}

func (k *kept) Records(context.Context, string) ([]drills.Record, error) { return k.records, nil }
