// Package drilltest holds any drill to the contract of drills.Tool, in the
// manner of testing/fstest: one suite, pointed at every row of the table.
package drilltest

import (
	"maps"
	"math"
	"slices"
	"testing"
	"time"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
)

// Check reports every way in which a drill breaks the contract of drills.Tool
// on the clips it can be asked on; at least one of them must do. At every way
// to answer, and at both ends of the ladder, through the same
// drills.Session that a listener has:
//
//   - the declaration is whole; truths lie in the ranges of their parameters;
//   - the same seed asks the same trial, and makes the same sound;
//   - the truth earns full marks, each choice can be read by number and label,
//     one of them is right where there are any, and nothing is right for nothing alone;
//   - on a scale, an answer that is further off is never nearer right;
//   - both sides are finite, under the ceiling, no louder than drills.PlayLUFS
//     and, unless level is asked, within drills.MatchLU of each other;
//   - the first way to answer is heard at the easy end; where the ladder ends
//     by excitation, about 1 dB of it changes at the hard end, and plainly more
//     at the easy one;
//   - what is offered sounds different; as if nothing were changed is no right
//     answer on a scale;
//   - neutral is untouched, to −120 dB or, where the way of the sound is
//     stated to change, the same on both sides;
//   - the listener's own side can be made for every answer offered.
func Check(t *testing.T, tool drills.Tool, clips ...drills.Clip) {
	t.Helper()
	if err := tool.Validate(); err != nil {
		t.Fatal(err)
	}
	fits := slices.DeleteFunc(slices.Clone(clips), func(c drills.Clip) bool {
		_, err := tool.Fit.Targets(c)
		return err != nil
	})
	if len(fits) == 0 {
		t.Fatal("it can be asked on none of the clips")
	}
	checkNeutral(t, tool, fits)
	for i, rung := range tool.Rungs {
		t.Run(rung.ID, func(t *testing.T) {
			t.Parallel()
			s := &suite{t, tool, rung, fits}
			switch {
			case i > 0:
				s.at(tool.Level.Max, 2)
				s.at(tool.Level.Min, 1)
			case tool.Floor == drills.AtExcitation:
				s.checkEnds(s.at(tool.Level.Max, enough-2), s.at(tool.Level.Min, enough))
			default:
				s.checkEnds(s.at(tool.Level.Max, 3), s.at(tool.Level.Min, 2))
			}
		})
	}
}

const (
	enough  = 9   // trials whose median tells what an end of a ladder asks
	heardDB = 1.0 // least change of excitation that is usually heard: E. Zwicker (from memory)
	// about is how many times more or less counts as near to that: what is asked
	// is drawn, and a few draws are looked at.
	about = 2.5
	// plainer is how many times as much changes at the easy end as at the hard
	// one, at least.
	plainer = 1.5
)

// checkEnds holds the ends of a ladder, by the excitation that a question turns
// on there, to what the drill says of its hard end.
func (s *suite) checkEnds(easyDB, hardDB float64) {
	s.t.Logf("%.2f dB of excitation at the easy end, %.2f at the hard end, which is by %v", easyDB, hardDB, s.tool.Floor)
	if easyDB < heardDB {
		s.t.Errorf("at the easy end %.2f dB of excitation change, want %g and more", easyDB, heardDB)
	}
	if s.tool.Floor != drills.AtExcitation {
		return
	}
	if hardDB < heardDB/about || hardDB > heardDB*about {
		s.t.Errorf("at the hard end %.2f dB of excitation change, want about %g", hardDB, heardDB)
	}
	if easyDB < plainer*hardDB {
		s.t.Errorf("at the easy end %.2f dB of excitation change, at the hard end %.2f", easyDB, hardDB)
	}
}

type suite struct {
	t     *testing.T
	tool  drills.Tool
	rung  drills.Rung
	clips []drills.Clip
}

// at checks a few trials at one level, and returns the median of the excitation
// that they turn on.
func (s *suite) at(level float64, trials int) (turnsDB float64) {
	s.t.Helper()
	one, two := s.sit(level, trials), s.sit(level, 1)
	var turns []float64
	var asked int
	var refused error
	for number := range trials {
		r, err := one.Next(s.t.Context())
		if err != nil {
			refused = err
			break // one that these loops cannot show; too few of the others fail below
		}
		if asked++; asked == 1 && level == s.tool.Level.Max {
			again, err := two.Next(s.t.Context())
			if err != nil || !same(r, again) {
				s.t.Fatalf("trial %d: the same seed asks %v (%v), and then something else", number, r.Trial.Truth, err)
			}
		}
		turns = append(turns, s.turnsOn(one, r))
		s.checkRound(one, r, asked == 1)
		s.answer(one, r)
	}
	if asked == 0 {
		s.t.Fatalf("level %g: no trial could be made on any clip: %v", level, refused)
	}
	slices.Sort(turns)
	return turns[len(turns)/2]
}

// turnsOn is the excitation that a question turns on: what changes from
// untouched to changed or, where the ladder is how far answers lie apart, from
// changed to the nearest wrong answer.
func (s *suite) turnsOn(session *drills.Session, r *drills.Round) (db float64) {
	if !s.tool.OwnLadder || s.tool.Floor != drills.AtExcitation || len(r.Rung.Choices) < 2 || s.tool.Turned() {
		return r.Trial.AudibleDB
	}
	db = math.Inf(1)
	for _, wrong := range s.wrongs(r) {
		db = min(db, s.apartDB(session, r, wrong))
	}
	return db
}

// wrongs are the answers offered that are not right.
func (s *suite) wrongs(r *drills.Round) (wrong []dsp.Setting) {
	for _, c := range r.Rung.Choices {
		guess, err := s.tool.Read(r.Rung, r.Trial.Asked, c.Label)
		if err == nil && !s.tool.Grade(r.Rung, r.Trial.Truth, guess).Right {
			wrong = append(wrong, guess)
		}
	}
	return wrong
}

// apartDB is the excitation that changes from the changed side to an answer.
func (s *suite) apartDB(session *drills.Session, r *drills.Round, guess dsp.Setting) float64 {
	s.t.Helper()
	mine, _, err := session.Try(guess)
	if err != nil {
		s.t.Errorf("mine for %v: %v", guess, err)
		return 0
	}
	meter := measure.NewAudibilityMeter(r.Trial.Loop.RateHz)
	meter.Channels, meter.Peak = []measure.Channel{measure.Left, measure.Right, measure.Mid}, s.tool.Brief
	meter.Before(r.Changed)
	return meter.After(mine).DB
}

func (s *suite) answer(session *drills.Session, r *drills.Round) {
	o, err := session.Answer(s.t.Context(), drills.Given{Guess: r.Trial.Truth, Took: time.Second})
	switch {
	case err != nil:
		s.t.Fatal(err)
	case !o.Record.Score.Right || o.Tell == "":
		s.t.Errorf("the truth %v scores %+v: %q", r.Trial.Truth, o.Record.Score, o.Tell)
	}
	if e := o.Record.Score.Errors[s.tool.Error]; s.rung.Surface != drills.Cards && !s.tool.Turned() && math.Abs(e) > 1e-9 {
		s.t.Errorf("the truth %v is off by %g %s", r.Trial.Truth, e, s.tool.Unit)
	}
}

func same(a, b *drills.Round) bool {
	return maps.Equal(a.Trial.Truth, b.Trial.Truth) && maps.Equal(a.Trial.Asked, b.Trial.Asked) &&
		a.Question == b.Question && slices.Equal(a.Changed, b.Changed)
}

func (s *suite) checkRound(session *drills.Session, r *drills.Round, mine bool) {
	t, trial := s.t, r.Trial
	t.Helper()
	for _, set := range []dsp.Setting{trial.Asked, trial.Truth} {
		if err := set.Check(s.tool.Params); err != nil {
			t.Fatalf("level %g asks %v: %v", trial.Level, set, err)
		}
	}
	if r.Question == "" || s.tool.Region(trial.Truth) == "" {
		t.Error("no question, or no region")
	}
	s.checkSides(r)
	s.checkChoices(r)
	s.checkGrades(r)
	if mine {
		s.checkHeard(session, r)
		s.checkIdle(session, r)
	}
}

func (s *suite) checkSides(r *drills.Round) {
	t, rateHz := s.t, r.Trial.Loop.RateHz
	t.Helper()
	lufs := [2]float64{measure.IntegratedLUFS(r.Untouched, rateHz), measure.IntegratedLUFS(r.Changed, rateHz)}
	if math.IsNaN(lufs[0]+lufs[1]) || math.IsInf(lufs[0]+lufs[1], 0) {
		t.Fatalf("%s: sides of %v LUFS", r.Clip.Name, lufs)
	}
	if max(lufs[0], lufs[1]) > drills.PlayLUFS+0.01 {
		t.Errorf("%s: sides play at %.2f LUFS", r.Clip.Name, lufs)
	}
	if d := math.Abs(lufs[1] - lufs[0]); d > drills.MatchLU && !s.tool.LevelAsked {
		t.Errorf("%s %v: the sides are %.3f LU apart", r.Clip.Name, r.Trial.Truth, d)
	}
	for _, side := range [][]dsp.Frame{r.Untouched, r.Changed} {
		if peak := measure.TruePeakDBTP(side, rateHz); peak > drills.CeilingDBTP+0.02 {
			t.Errorf("%s: true peak %.2f dBTP", r.Clip.Name, peak)
		}
	}
}

// checkHeard makes the sound of some wrong answers. On a matrix they may sound
// alike: there it is not what was changed that is asked, but what that covers.
func (s *suite) checkHeard(session *drills.Session, r *drills.Round) {
	wrong := s.wrongs(r)
	for _, guess := range wrong[:min(2, len(wrong))] {
		if db := s.apartDB(session, r, guess); db < inaudibleDB && r.Rung.Surface != drills.Matrix && !s.tool.Turned() {
			s.t.Errorf("%s: %v sounds like %v, which is right: %.2f dB of excitation change", r.Clip.Name, guess, r.Trial.Truth, db)
		}
	}
}

// inaudibleDB is a change of excitation that nobody hears.
const inaudibleDB = 0.05

// checkIdle gives, where the answer is no choice, the one that does nothing.
func (s *suite) checkIdle(session *drills.Session, r *drills.Round) {
	if len(r.Rung.Choices) > 0 {
		return
	}
	idle := maps.Clone(r.Trial.Truth)
	for i, p := range s.tool.Params {
		if i == 0 || s.tool.Turned() {
			idle[p.ID] = p.Neutral
		}
	}
	mine, _, err := session.Try(idle)
	if err != nil || !s.tool.Turned() && !alike(mine, r.Untouched) {
		return // the neutral value is a value like others
	}
	if s.tool.Grade(r.Rung, r.Trial.Truth, idle).Right {
		s.t.Errorf("%v, as if nothing were changed, is right for %v", idle, r.Trial.Truth)
	}
}

// alike reports whether two sides are the same, to −100 dBFS.
func alike(a, b []dsp.Frame) bool {
	for i := range a {
		if math.Abs(a[i][0]-b[i][0]) > 1e-5 || math.Abs(a[i][1]-b[i][1]) > 1e-5 {
			return false
		}
	}
	return true
}

// checkChoices reads every answer that is offered. The one that was made is
// right, whatever was measured of it.
func (s *suite) checkChoices(r *drills.Round) {
	t := s.t
	t.Helper()
	right, labels := 0, map[string]bool{}
	for i, c := range r.Rung.Choices {
		if labels[c.Label] || c.Label == "" {
			t.Errorf("the answer %q is offered twice", c.Label)
		}
		labels[c.Label] = true
		guess, err := s.tool.Read(r.Rung, r.Trial.Asked, c.Label)
		if err != nil {
			t.Errorf("%q cannot be read: %v", c.Label, err)
			continue
		}
		for id, v := range c.Guess {
			if guess[id] != v {
				t.Errorf("%q, number %d, is read as %v", c.Label, i+1, guess)
			}
		}
		if s.tool.Grade(r.Rung, r.Trial.Truth, guess).Right {
			right++
		}
	}
	if len(r.Rung.Choices) > 0 && !s.tool.Grade(r.Rung, r.Trial.Truth, r.Trial.Asked).Right {
		t.Errorf("%v was made, and by its measure %v it is wrong", r.Trial.Asked, r.Trial.Truth)
	}
	if len(r.Rung.Choices) > 0 && right != 1 {
		t.Errorf("%d of %d answers are right for %v", right, len(r.Rung.Choices), r.Trial.Truth)
	}
}

func (s *suite) checkGrades(r *drills.Round) {
	t, truth := s.t, r.Trial.Truth
	t.Helper()
	nothing := dsp.Setting{}
	if s.tool.Grade(r.Rung, truth, nothing).Right || s.tool.Grade(r.Rung, nothing, truth).Right || !s.tool.Grade(r.Rung, nothing, nothing).Right {
		t.Errorf("nothing is graded wrongly against %v", truth)
	}
	for _, pair := range [][2]dsp.Setting{{truth, nothing}, {nothing, truth}, {nothing, nothing}} {
		if s.tool.Tell(r.Rung, pair[0], pair[1]) == "" {
			t.Errorf("truth %v, guess %v: nothing is told", pair[0], pair[1])
		}
	}
	if r.Rung.Surface == drills.Ruler || r.Rung.Surface == drills.Arc {
		s.checkDistance(r)
	}
}

// checkDistance moves an answer away from the truth along its own scale.
func (s *suite) checkDistance(r *drills.Round) {
	p, truth := s.tool.Params[0], r.Trial.Truth
	place := p.Place(truth.Get(p))
	for _, way := range []float64{-1, 1} {
		last, right := 0.0, true
		for off := 0.0; place+way*off >= 0 && place+way*off <= 1; off += 0.04 {
			guess := truth.With(p.ID, p.At(place+way*off))
			score := s.tool.Grade(r.Rung, truth, guess)
			e := math.Abs(score.Errors[s.tool.Error])
			if e < last-1e-9 || score.Right && !right {
				s.t.Errorf("%s=%g for %g is nearer than one before: off by %g after %g", p.ID, guess.Get(p), truth.Get(p), e, last)
			}
			last, right = e, score.Right
		}
	}
}

// checkNeutral builds what stands in the way of the sound while nothing is
// done, and what is done of nothing.
func checkNeutral(t *testing.T, tool drills.Tool, clips []drills.Clip) {
	t.Helper()
	for _, c := range clips {
		targets, _ := tool.Fit.Targets(c)
		inserts, err := tool.Change(c, targets[0], dsp.Setting{})
		if err != nil {
			t.Errorf("%s: nothing cannot be made: %v", c.Name, err)
			continue
		}
		for _, in := range inserts {
			if tool.Cue != "" {
				continue // it stands on both sides alike: the session makes untouched of it
			}
			if residue := residueDB(in.Processor, c.Loop.RateHz); residue > -120 {
				t.Errorf("neutral differs from untouched by %.0f dB", residue)
			}
		}
	}
}

// residueDB is what a processor adds to noise that peaks at about −12 dBFS.
func residueDB(p dsp.Processor, rateHz float64) float64 {
	in := make([]dsp.Frame, int(rateHz))
	dsp.NewPink(rateHz, 5).Fill(in)
	dsp.Gain(0.06).Process(in)
	out := slices.Clone(in)
	p.Reset()
	p.Process(out)
	worst, delay := 0.0, dsp.DelayFrames(p)
	for i := delay; i < len(out); i++ {
		worst = max(worst, math.Abs(out[i][0]-in[i-delay][0]), math.Abs(out[i][1]-in[i-delay][1]))
	}
	return dsp.ToDB(worst)
}
