package drills_test

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"strop/drills"
	"strop/drills/skill"
	"strop/drills/tools"
	"strop/dsp"
	"strop/dsp/measure"
)

// clips are loops in memory.
type clips []drills.Clip

func (c clips) Count(context.Context) (int, error)                 { return len(c), nil }
func (c clips) Clip(_ context.Context, i int) (drills.Clip, error) { return c[i], nil }
func newClip(name string, rateHz float64, f []dsp.Frame) drills.Clip {
	return drills.Clip{
		Loop:   drills.Loop{Material: "test:" + name, Frames: len(f), RateHz: rateHz},
		Facts:  measure.FactsOf(f, rateHz),
		Name:   name,
		Frames: f,
	}
}

const rateHz = 48000

func pinkClip(seed uint64) drills.Clip {
	f := make([]dsp.Frame, 6*rateHz)
	dsp.NewPink(rateHz, seed).Fill(f)
	dsp.Gain(0.1).Process(f)
	return newClip("pink", rateHz, f)
}

// bassClip is a 60 Hz tone with its overtones, and nothing above 500 Hz.
func bassClip() drills.Clip {
	f := make([]dsp.Frame, 6*rateHz)
	for i := range f {
		for h := 1.0; h <= 8; h++ {
			f[i][0] += 0.2 / h * math.Sin(2*math.Pi*60*h*float64(i)/rateHz)
		}
		f[i][1] = f[i][0]
	}
	return newClip("bass", rateHz, f)
}

// memory is a Store in memory.
type memory struct {
	records []drills.Record
	err     error
}

func (m *memory) Append(_ context.Context, r drills.Record) error {
	if m.err == nil {
		m.records = append(m.records, r)
	}
	return m.err
}

func (m *memory) Records(context.Context, string) ([]drills.Record, error) { return m.records, nil }

func config(t *testing.T, rung string, c drills.Clips, store drills.Store) drills.Config {
	t.Helper()
	tool, err := tools.Find("eq-band")
	if err != nil {
		t.Fatal(err)
	}
	r, err := tool.Rung(rung)
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 5, 4, 7, 0, 0, 0, time.UTC)
	return drills.Config{
		ID: "s", Trials: 20, Seed: 7,
		Planner: &drills.OneTool{
			Tool: tool, Rung: r, Tracker: tracker(tool), Seed: 7,
			Condition: drills.Condition{Transducer: "headphones", Heard: "mix"},
		},
		Clips: c, Rotate: skill.Rotate, Store: store,
		Clock: func() time.Time { at = at.Add(time.Second); return at },
	}
}

// plan is the plan of a configuration that config made.
func plan(cfg drills.Config) *drills.OneTool { return cfg.Planner.(*drills.OneTool) }

func tracker(tool drills.Tool) drills.Tracker {
	return skill.NewUpDown(skill.UpDownConfig{Start: tool.Level.Neutral, Min: tool.Level.Min, Max: tool.Level.Max, Target: 0.75})
}

// sit runs a whole session, answering each trial by say.
func sit(t *testing.T, cfg drills.Config, say func(*drills.Round) dsp.Setting, look func(*drills.Round, *drills.Outcome)) []drills.Record {
	t.Helper()
	s, err := drills.NewSession(cfg)
	if err != nil {
		t.Fatal(err)
	}
	for {
		round, err := s.Next(t.Context())
		if errors.Is(err, io.EOF) {
			return s.Records()
		}
		if err != nil {
			t.Fatal(err)
		}
		o, err := s.Answer(t.Context(), drills.Given{Guess: say(round), Took: 3 * time.Second, Switches: 2})
		if err != nil {
			t.Fatal(err)
		}
		look(round, o)
	}
}

func sayTruth(r *drills.Round) dsp.Setting  { return r.Trial.Truth }
func noLook(*drills.Round, *drills.Outcome) {}

func TestSameSeedSameSession(t *testing.T) {
	c := clips{pinkClip(1), pinkClip(2), pinkClip(3)}
	one := sit(t, config(t, "seven", c, &memory{}), sayTruth, noLook)
	two := sit(t, config(t, "seven", c, &memory{}), sayTruth, noLook)
	if diff := cmp.Diff(one, two); diff != "" {
		t.Error(diff)
	}
	cfg := config(t, "seven", c, &memory{})
	cfg.Seed++
	if other := sit(t, cfg, sayTruth, noLook); cmp.Equal(one, other) {
		t.Error("another seed gave the same session")
	}
}

// Both sides within 0.1 LU (ITU-R BS.1770 loudness), none above the loudness
// that the listener set or the true-peak ceiling.
func TestSidesAreMatched(t *testing.T) {
	store := &memory{}
	sit(t, config(t, "ten", clips{pinkClip(1), pinkClip(2)}, store), func(r *drills.Round) dsp.Setting {
		return r.Trial.Asked.With("freqHz", 1000)
	}, func(r *drills.Round, o *drills.Outcome) {
		for name, side := range map[string][]dsp.Frame{"untouched": r.Untouched, "changed": r.Changed, "mine": o.Mine} {
			lufs := measure.IntegratedLUFS(side, rateHz)
			if diff := lufs - measure.IntegratedLUFS(r.Untouched, rateHz); math.Abs(diff) > drills.MatchLU {
				t.Errorf("trial %d: %s is %.3f LU from untouched", r.Trial.Number, name, diff)
			}
			if lufs > drills.PlayLUFS+0.01 {
				t.Errorf("trial %d: %s plays at %.2f LUFS", r.Trial.Number, name, lufs)
			}
			if peak := measure.TruePeakDBTP(side, rateHz); peak > drills.CeilingDBTP+0.01 {
				t.Errorf("trial %d: %s peaks at %.2f dBTP", r.Trial.Number, name, peak)
			}
		}
		if math.Abs(r.Trial.ResidualLU) > drills.MatchLU {
			t.Errorf("trial %d: residual %.3f LU", r.Trial.Number, r.Trial.ResidualLU)
		}
	})
	if len(store.records) != 20 {
		t.Fatalf("%d records kept, want 20", len(store.records))
	}
}

func TestNothingIsTheSameSound(t *testing.T) {
	cfg := config(t, "five", clips{pinkClip(1)}, &memory{})
	plan(cfg).Tool.NothingShare = 0.999
	level := plan(cfg).Tracker.Level()
	for _, r := range sit(t, cfg, sayTruth, func(r *drills.Round, o *drills.Outcome) {
		if !slices.Equal(r.Untouched, r.Changed) {
			t.Errorf("trial %d: nothing was changed, and the sides differ", r.Trial.Number)
		}
	}) {
		if len(r.Trial.Truth) != 0 || len(r.Trial.Asked) == 0 || !r.Score.Right {
			t.Errorf("trial %d: %+v", r.Trial.Number, r)
		}
	}
	if plan(cfg).Tracker.Level() != level {
		t.Error("a trial without a change moved the tracker")
	}
}

// A band without energy is never asked about: a bass has nothing at 10 kHz.
func TestMaterialDecides(t *testing.T) {
	for _, r := range sit(t, config(t, "ten", clips{bassClip()}, &memory{}), sayTruth, noLook) {
		if hz := r.Trial.Asked["freqHz"]; hz > 600 || hz < 30 {
			t.Errorf("trial %d asks about %g Hz", r.Trial.Number, hz)
		}
	}
}

func TestMaterialThatShowsNothing(t *testing.T) {
	s, err := drills.NewSession(config(t, "five", clips{newClip("silence", rateHz, make([]dsp.Frame, 6*rateHz))}, &memory{}))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Next(t.Context()); err == nil || errors.Is(err, io.EOF) {
		t.Errorf("Next on silence: %v", err)
	}
}

func TestAnswerSurvivesAStoreThatFails(t *testing.T) {
	full := errors.New("the disk is full")
	s, err := drills.NewSession(config(t, "five", clips{pinkClip(1)}, &memory{err: full}))
	if err != nil {
		t.Fatal(err)
	}
	round, err := s.Next(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	o, err := s.Answer(t.Context(), drills.Given{Guess: round.Trial.Truth, Took: time.Second})
	if !errors.Is(err, full) || o == nil || len(s.Records()) != 1 {
		t.Errorf("outcome %v, error %v, %d records", o, err, len(s.Records()))
	}
}

// A listener who goes by loudness alone cannot tell the bands apart: always
// the same answer is right in about one of five.
func TestLoudnessIsNoClue(t *testing.T) {
	cfg := config(t, "five", clips{pinkClip(1), pinkClip(2)}, &memory{})
	cfg.Trials, plan(cfg).Tool.NothingShare = 100, 0
	right := 0
	for _, r := range sit(t, cfg, func(r *drills.Round) dsp.Setting {
		loud := measure.IntegratedLUFS(r.Changed, rateHz) - measure.IntegratedLUFS(r.Untouched, rateHz)
		band := []float64{100, 316.2277660168379, 1000, 3162.277660168379, 10000}[int(math.Abs(loud)*1e6)%5]
		return r.Trial.Asked.With("freqHz", band)
	}, noLook) {
		if r.Score.Right {
			right++
		}
	}
	if right > 32 { // P(X > 32) for 100 draws at 1/5 is 0.15 %
		t.Errorf("%d of 100 right by loudness alone", right)
	}
}

// Climb opens the next way to answer once the ladder's lower third is reached.
func TestClimb(t *testing.T) {
	cfg := config(t, "five", clips{pinkClip(1)}, &memory{})
	cfg.Trials = 60
	records := sit(t, cfg, sayTruth, noLook)
	tool, condition := plan(cfg).Tool, plan(cfg).Condition
	start := func(drills.Rung) drills.Tracker { return tracker(tool) }
	rung, _ := drills.Climb(tool, nil, condition, start)
	if rung.ID != "five" {
		t.Errorf("a newcomer starts with %s", rung.Title)
	}
	rung, level := drills.Climb(tool, records, condition, start)
	if rung.ID != "seven" || level.Level() != tool.Level.Neutral {
		t.Errorf("after 60 right answers: %s at %g", rung.Title, level.Level())
	}
	if rung, _ = drills.Climb(tool, records, drills.Condition{Transducer: "loudspeakers"}, start); rung.ID != "five" {
		t.Errorf("what was shown on headphones counted on loudspeakers")
	}
}
