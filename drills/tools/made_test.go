package tools_test

import (
	"maps"
	"math"
	"slices"
	"testing"

	"strop/drills"
	"strop/drills/tools"
	"strop/dsp"
	"strop/dsp/measure"
)

const madeRateHz = 48000

// noiseClip is a loop of two seconds: two microphones on one pink noise in the
// middle, a third stem of two independent channels, and their sum.
func noiseClip() drills.Clip {
	pink := dsp.NewPink(madeRateHz, 3)
	source, both := make([]dsp.Frame, 2*madeRateHz), make([]dsp.Frame, 2*madeRateHz)
	pink.Fill(source)
	pink.Fill(both)
	dsp.Gain(0.05).Process(both)
	for i, f := range source {
		source[i] = dsp.Frame{0.05 * f[0], 0.05 * f[0]}
	}
	c := drills.Clip{Name: "noise", Frames: make([]dsp.Frame, len(source)),
		Loop: drills.Loop{Material: "noise", Frames: len(source), RateHz: madeRateHz}}
	for _, st := range []struct {
		name   string
		pair   int
		frames []dsp.Frame
	}{{"Near", 2, source}, {"Far", 1, source}, {"Wide", 0, both}} {
		facts := measure.FactsOf(st.frames, madeRateHz)
		c.Stems = append(c.Stems, drills.Stem{Name: st.name, Pair: st.pair, Facts: facts,
			Traits: drills.Traits{SideDB: -measure.MidSideDB(st.frames), Sustained: 1},
			Load:   func() ([]dsp.Frame, error) { return st.frames, nil }})
		for k, f := range st.frames {
			c.Frames[k][0] += f[0]
			c.Frames[k][1] += f[1]
		}
	}
	c.Facts = measure.FactsOf(c.Frames, madeRateHz)
	return c
}

// made is a drill's change on a stem of noise, 0 for the mix: what went in and
// what came out of the first insert, once the loop has passed through, with the
// delay that the insert states turned back.
func made(t *testing.T, id string, on int, s dsp.Setting) (before, after []dsp.Frame) {
	t.Helper()
	tool, err := tools.Find(id)
	if err != nil {
		t.Fatal(err)
	}
	c := noiseClip()
	inserts, err := tool.Change(c, on, s)
	if err != nil {
		t.Fatal(err)
	}
	before, err = c.Target(on)
	if err != nil {
		t.Fatal(err)
	}
	return before, through(inserts[0].Processor, before)
}

func through(p dsp.Processor, frames []dsp.Frame) []dsp.Frame {
	out := slices.Clone(frames)
	p.Process(slices.Clone(frames))
	p.Process(out)
	n := dsp.DelayFrames(p) % len(out)
	return slices.Concat(out[n:], out[:n])
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %g, want %g within %g", what, got, want, within)
	}
}

// Level difference of the channels by direction: the tangent law at ±30°,
// computed independently from the published formula.
func TestPanByTheTangentLaw(t *testing.T) {
	for deg, wantDB := range map[float64]float64{1: 0.525, 2: 1.052, 5: 2.653, 10: 5.480, 15: 8.730, 20: 12.892, -10: -5.480} {
		before, after := made(t, "pan", 1, dsp.Setting{"angleDeg": deg, "fromDeg": 0})
		l, r := measure.Left.Samples(after), measure.Right.Samples(after)
		near(t, "pan", dsp.ToDB(rms(r)/rms(l)), wantDB, 0.002)
		near(t, "power", rms(l)*rms(l)+rms(r)*rms(r), 2*rms(measure.Left.Samples(before))*rms(measure.Left.Samples(before)), 1e-9)
	}
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

// What a stem loses in mono, by the loudness meter.
func TestFoldLosesWhatIsAsked(t *testing.T) {
	for _, lossDB := range []float64{3, 6, 10, 20} {
		_, after := made(t, "mono-fold", 1, dsp.Setting{"stem": 1, "lossDB": lossDB})
		near(t, "loss", measure.MonoFoldOf(after, madeRateHz).LossLU, lossDB, 0.01)
	}
}

func TestCorrelationIsThatOfTheMeter(t *testing.T) {
	for _, want := range []float64{-0.5, 0, 0.3, 0.9} {
		_, after := made(t, "correlation", 0, dsp.Setting{"correlation": want})
		near(t, "correlation", measure.Correlation(after), want, 0.001)
	}
}

// The ratio of direct to reverberant sound, from the energies of a click in
// both outputs.
func TestDepthIsThatOfAClick(t *testing.T) {
	tool, err := tools.Find("depth")
	if err != nil {
		t.Fatal(err)
	}
	for _, drrDB := range []float64{-6, 2, 10} {
		inserts, err := tool.Change(noiseClip(), 1, dsp.Setting{"drrDB": drrDB})
		if err != nil {
			t.Fatal(err)
		}
		truth, err := tool.Measure(drills.Made{RateHz: madeRateHz, Clip: noiseClip(), On: 1, Setting: dsp.Setting{"drrDB": drrDB}, Inserts: inserts})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "measured", truth["drrDB"], drrDB, 1)
		room := inserts[0].Processor.(dsp.Chain)[0]
		click := make([]dsp.Frame, madeRateHz)
		click[0][0] = 1
		room.Reset()
		room.Process(click)
		var direct, rest float64
		for i, f := range click {
			if at := i - dsp.DelayFrames(room); at == 0 {
				direct = f[0] * f[0]
			} else {
				rest += f[0]*f[0] + f[1]*f[1]
			}
		}
		near(t, "energies", dsp.PowerToDB(direct/rest), drrDB, 0.5)
	}
}

// Delay and polarity of a microphone, by the cross-spectrum with the other.
func TestMicrophonesByAlignment(t *testing.T) {
	for _, ms := range []float64{0.3, 1, 4} {
		before, after := made(t, "mic-delay", 1, dsp.Setting{"delayMS": ms})
		a := measure.Align(measure.Mid.Samples(before), measure.Mid.Samples(after))
		near(t, "delay", a.DelayFrames, ms*madeRateHz/1000, 0.05)
		if a.Inverted {
			t.Error("the delay turns the polarity over")
		}
	}
	for _, ms := range []float64{-3, -0.5, 2} {
		before, after := made(t, "make-delay", 1, dsp.Setting{"nudgeMS": ms})
		near(t, "hidden move", measure.Align(measure.Mid.Samples(before), measure.Mid.Samples(after)).DelayFrames, -ms*madeRateHz/1000, 0.05)
	}
	before, after := made(t, "mic-polarity", 1, dsp.Setting{"turnedDB": -6})
	if a := measure.Align(measure.Mid.Samples(before), measure.Mid.Samples(after)); !a.Inverted || math.Abs(a.DelayFrames) > 0.01 {
		t.Errorf("a turned microphone comes back as %+v", a)
	}
	near(t, "level", dsp.ToDB(rms(measure.Left.Samples(after))/rms(measure.Left.Samples(before))), -6, 1e-9)
}

// Sound goes 34.3 cm in a millisecond, at 343 m/s.
func TestDelayInCentimetres(t *testing.T) {
	for _, id := range []string{"mic-delay", "make-delay"} {
		tool, err := tools.Find(id)
		if err != nil {
			t.Fatal(err)
		}
		for text, wantMS := range map[string]float64{"34.3 cm": 1, "1.372 m": 4, "2 ms": 2, "0.5": 0.5, "17,15cm": 0.5} {
			got, err := tool.Read(tool.Rungs[len(tool.Rungs)-1], dsp.Setting{}, text)
			if err != nil {
				t.Errorf("%s %q: %v", id, text, err)
				continue
			}
			near(t, id+" "+text, got[tool.Params[0].ID], wantMS, 1e-9)
		}
	}
}

// A copy is found again by its cepstrum.
func TestCombIsFoundAgain(t *testing.T) {
	for _, levelDB := range []float64{-1, -7, -13} {
		_, after := made(t, "comb-depth", 1, dsp.Setting{"levelDB": levelDB, "delayMS": 2})
		got := measure.CombOf(after, madeRateHz)
		near(t, "delay", got.DelayMS, 2, 0.05)
		near(t, "level", got.LevelDB, levelDB, 2)
	}
}

// Every kind of width has as much side, and the tricks leave mono as it was.
func TestKindsOfWidth(t *testing.T) {
	for kind := 1.0; kind <= 3; kind++ {
		before, after := made(t, "wide-kind", 3, dsp.Setting{"kind": kind, "sideDB": -3})
		near(t, "middle over side", measure.MidSideDB(after), 3, 0.3)
		was, is := measure.Mid.Samples(before), measure.Mid.Samples(after)
		worst := 0.0
		for i := range was {
			worst = max(worst, math.Abs(was[i]-is[i]))
		}
		if worst > 1e-9 {
			t.Errorf("kind %g: mono differs by %.1f dBFS", kind, dsp.ToDB(worst))
		}
	}
}

// One stem goes up by half, the other down.
func TestBalanceOfGains(t *testing.T) {
	tool, err := tools.Find("balance")
	if err != nil {
		t.Fatal(err)
	}
	inserts, err := tool.Change(noiseClip(), 1, dsp.Setting{"balanceDB": 5, "other": 3})
	if err != nil || len(inserts) != 2 {
		t.Fatal(inserts, err)
	}
	for i, want := range []struct {
		stem int
		db   float64
	}{{1, 2.5}, {3, -2.5}} {
		one := through(inserts[i].Processor, []dsp.Frame{{1, 1}})
		if !slices.Equal(inserts[i].Stems, []int{want.stem}) {
			t.Errorf("a gain stands on %v", inserts[i].Stems)
		}
		near(t, "gain", dsp.ToDB(one[0][0]), want.db, 1e-9)
	}
}

// Width as the level of the side: 6.02 dB for twice as much.
func TestWidthIsTheSide(t *testing.T) {
	for pct, wantDB := range map[float64]float64{200: 6.0206, 50: -6.0206, 100: 0} {
		before, after := made(t, "width-stem", 3, dsp.Setting{"widthPct": pct})
		near(t, "side", dsp.ToDB(rms(measure.Side.Samples(after))/rms(measure.Side.Samples(before))), wantDB, 0.001)
	}
	tool, err := tools.Find("width")
	if err != nil {
		t.Fatal(err)
	}
	score := tool.Grade(tool.Rungs[1], dsp.Setting{"widthPct": 50}, dsp.Setting{"widthPct": 100})
	near(t, "error", score.Errors["errorDB"], 6.0206, 0.001)
}

// Where level is asked, how loud the untouched side plays does not tell which
// way the other goes.
func TestUntouchedTellsNothing(t *testing.T) {
	tool, err := tools.Find("level-whole")
	if err != nil {
		t.Fatal(err)
	}
	ways := map[string]bool{}
	s := sitting(t, tool, tool.Rungs[0], 1, 8, 2)
	for range 8 {
		r, err := s.Next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		near(t, "untouched", measure.IntegratedLUFS(r.Untouched, r.Trial.Loop.RateHz), drills.PlayLUFS-6, 0.02)
		ways[tool.Region(r.Trial.Truth)] = true
		if _, err := s.Answer(t.Context(), drills.Given{Guess: r.Trial.Truth}); err != nil {
			t.Fatal(err)
		}
	}
	if len(ways) != 2 {
		t.Errorf("eight trials go %v only", ways)
	}
}

// Where a change is to be undone, the truth leaves nothing of it and a tool
// that is not touched leaves all.
func TestUndoneLeavesNothing(t *testing.T) {
	for _, id := range []string{"make-level", "make-pan", "make-delay", "make-polarity", "make-eq"} {
		tool, err := tools.Find(id)
		if err != nil {
			t.Fatal(err)
		}
		s := sitting(t, tool, tool.Rungs[0], 0.8, 2, 4)
		for _, undo := range []bool{true, false} {
			r, err := s.Next(t.Context())
			if err != nil {
				t.Fatal(id, err)
			}
			guess := maps.Clone(r.Trial.Truth)
			if !undo {
				for _, p := range tool.Knobs() {
					guess[p.ID] = p.Neutral
				}
			}
			o, err := s.Answer(t.Context(), drills.Given{Guess: guess})
			if err != nil {
				t.Fatal(id, err)
			}
			remainsDB := o.Record.Score.Errors[drills.RemainsDB]
			if undo && remainsDB > 0.2 || !undo && remainsDB < 0.5 {
				t.Errorf("%s, undone %v: %.2f dB remain of %.2f", id, undo, remainsDB, r.Trial.AudibleDB)
			}
			if o.Record.Score.Right != undo {
				t.Errorf("%s, undone %v: %+v", id, undo, o.Record.Score)
			}
		}
	}
}

func TestToldPlaces(t *testing.T) {
	for _, c := range []struct {
		id           string
		truth, guess dsp.Setting
		want         string
	}{
		{"pan", dsp.Setting{"angleDeg": 12}, dsp.Setting{"angleDeg": 3}, "It was 12° right; you said 3° right, 9° too far left."},
		{"pan", dsp.Setting{"angleDeg": -12}, dsp.Setting{"angleDeg": 0}, "It was 12° left; you said the centre, 12° too far right."},
		{"width", dsp.Setting{"widthPct": 50}, dsp.Setting{"widthPct": 100}, "It was 50 %; you said 100 %, 6.0 dB of side too much."},
		{"mic-delay", dsp.Setting{"delayMS": 1}, dsp.Setting{"delayMS": 2}, "It was 1.0 ms, 34 cm; you said 2.0 ms, 69 cm, 2 times too long."},
		{"correlation", dsp.Setting{"correlation": 0.5}, dsp.Setting{"correlation": -0.1}, "It was +0.50; you said −0.10, 0.60 too low."},
		{"make-pan", dsp.Setting{"panPct": -30}, dsp.Setting{"panPct": 10}, "30 % to the left undoes it; you turned to 10 % to the right, 40 % too far right."},
		{"make-delay", dsp.Setting{"nudgeMS": -1}, dsp.Setting{"nudgeMS": -2}, "1.00 ms sooner, 34.3 cm undoes it; you turned to 2.00 ms sooner, 68.6 cm, 1.00 ms too soon."},
		{"make-polarity", dsp.Setting{}, dsp.Setting{"turned": 0}, "Nothing was changed, as you heard."},
		{"make-polarity", dsp.Setting{"turned": 1}, dsp.Setting{}, "It was turned over; you left it as it was."},
	} {
		tool, err := tools.Find(c.id)
		if err != nil {
			t.Fatal(err)
		}
		rung := tool.Rungs[len(tool.Rungs)-1]
		if got := tool.Tell(rung, c.truth, c.guess); got != c.want {
			t.Errorf("%s: %q, want %q", c.id, got, c.want)
		}
	}
}

func TestDirectionsAreRead(t *testing.T) {
	tool, err := tools.Find("pan")
	if err != nil {
		t.Fatal(err)
	}
	arc, err := tool.Rung("arc")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]float64{"12 left": -12, "left 12": -12, "L12": -12, "10° right": 10, "r 10": 10, "-7": -7, "7": 7, "Centre": 0} {
		got, err := tool.Read(arc, dsp.Setting{"fromDeg": 3}, text)
		if err != nil || got["angleDeg"] != want || got["fromDeg"] != 3 {
			t.Errorf("%q: %v, %v; want %g", text, got, err, want)
		}
	}
	for _, text := range []string{"", "left", "31 right", "up"} {
		if got, err := tool.Read(arc, dsp.Setting{}, text); err == nil {
			t.Errorf("%q is read as %v", text, got)
		}
	}
}
