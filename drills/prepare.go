package drills

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"

	"strop/dsp"
	"strop/dsp/measure"
)

// maxDraws is how often a trial is drawn anew before the material is given
// up as unable to show the drill; after half of them any region will do.
const maxDraws = 60

// prepare draws trials until the loop can show one.
func (s *Session) prepare(ctx context.Context, a Asking, number int, r *rand.Rand) (*Round, error) {
	var refused error
	for draw := range maxDraws {
		if draw > maxDraws/2 {
			a.Region = ""
		}
		round, err := s.draw(ctx, a, number, r, draw)
		switch {
		case err == nil:
			return round, nil
		case !errors.As(err, new(unfit)):
			return nil, err
		}
		refused = err
	}
	return nil, fmt.Errorf("this material cannot show the drill: %w", refused)
}

// draw makes one trial, or says that it is unfit.
func (s *Session) draw(ctx context.Context, a Asking, number int, r *rand.Rand, draw int) (*Round, error) {
	loop, clip, err := s.pick(ctx, r, number > 1 || draw >= freshDraws)
	if err != nil {
		return nil, err
	}
	targets, err := a.Tool.Fit.Targets(clip)
	if err != nil {
		return nil, unfit{err}
	}
	d := Draw{R: r, Rung: a.Rung, Level: a.Level, Clip: clip, On: targets[r.IntN(len(targets))]}
	round := &Round{Tool: a.Tool, Clip: clip, loop: loop, Trial: Trial{
		Session: s.cfg.ID, Number: number, Tool: a.Tool.ID, Rung: a.Rung.ID, Condition: a.Condition,
		Kind: a.Kind, Level: a.Level, Loop: clip.Loop, Stem: d.On, RoveDB: a.RoveDB, Chance: a.Chance,
	}}
	if stem := clip.Stem(d.On); stem != nil {
		round.Trial.On, round.Trial.Role = strings.ToValidUTF8(stem.Name, "�"), stem.Role // the name of a file need not be text
	}
	if a.Tool.Fit.Among {
		round.Trial.Condition.Heard = InMix
	}
	aim := aim{session: s, round: round, asking: a, draw: d, seed: r.Uint64(), fresh: draw < freshDraws}
	if err := aim.find(); err != nil {
		return nil, err
	}
	if err := round.ask(d); err != nil {
		return nil, unfit{err}
	}
	return round, aim.finish()
}

// ask words the question, and lays out the answers of a trial that was drawn.
func (round *Round) ask(d Draw) error {
	t := &round.Trial
	d.Level, round.Rung = t.Level, d.Rung
	if round.Tool.Choices != nil {
		choices, err := round.Tool.Choices(d, t.Asked)
		if err != nil {
			return err
		}
		if choices != nil {
			round.Rung.Choices = choices
		}
	}
	if t.Choices = len(round.Rung.Choices); t.Choices == 0 && round.Tool.Near != nil {
		round.Rung.Near = round.Tool.Near(t.Level)
	}
	round.Question = round.Tool.Question(d, t.Asked)
	round.Start = round.Tool.start(d, t.Asked)
	return round.Start.Check(round.Tool.Params)
}

// pick chooses a loop: the first, so that it can sound before the material is
// whole, or as the rotation has it.
func (s *Session) pick(ctx context.Context, r *rand.Rand, any bool) (i int, clip Clip, err error) {
	if any {
		count, err := s.cfg.Clips.Count(ctx)
		if err != nil {
			return 0, Clip{}, err
		}
		for len(s.heard) < count {
			s.heard = append(s.heard, -1)
		}
		i = s.cfg.Rotate(r, s.heard[:count])
	}
	clip, err = s.cfg.Clips.Clip(ctx, i)
	return i, clip, err
}

// item is a question as it was asked on a loop.
type item struct {
	tool, region string
	loop         int
}

// apart is how many trials lie between the same question on the same loop,
// where other questions are found in freshDraws draws. Common practice, no
// source.
const (
	apart      = 20
	freshDraws = 12
)

func (round *Round) item() item {
	return item{round.Trial.Tool, round.Tool.Region(round.Trial.Asked), round.loop}
}

func (s *Session) lately(i item) bool { return slices.Contains(s.recent, i) }

// note remembers what is being asked.
func (s *Session) note(round *Round) {
	for len(s.heard) <= round.loop {
		s.heard = append(s.heard, -1)
	}
	s.heard[round.loop] = round.Trial.Number
	s.recent = append(s.recent, round.item())
	s.recent = s.recent[max(0, len(s.recent)-apart):]
}

// aim finds the level at which a loop shows as much of a change as is wanted.
type aim struct {
	session   *Session
	round     *Round
	asking    Asking
	draw      Draw
	seed      uint64
	fresh     bool // not what was asked lately
	untouched *side
	asked     *side
	inserts   []Insert
	heldDB    float64 // by how much what is asked about was turned, alone
}

const (
	// leastAudibleDB is the change of excitation under which nothing is asked.
	// 1 dB is the least that is usually heard (E. Zwicker; from memory); the
	// model is not the ear, so that half of it is still tried.
	leastAudibleDB = 0.5
	// nearEnough is the share by which the audibility of a trial may differ
	// from what is wanted, either way.
	nearEnough = 0.2
	maxAims    = 3
)

// find draws the truth at a level and looks at what it does on the loop, up to
// three times: audibility grows about as the level does.
func (m *aim) find() error {
	param, want := m.asking.Tool.Level, m.asking.AimDB
	level := m.asking.Level
	if m.asking.HarderDB != nil {
		ratio := dsp.FromDB(m.asking.HarderDB(m.draw.Clip.Loop))
		want *= ratio
		if want == 0 && param.Scale == dsp.Log {
			level = held(param, level*ratio)
		}
	}
	if reach := m.session.reach[m.asking.Tool.ID]; want > 0 && reach > 0 {
		level = held(param, want/reach)
	}
	for try := range maxAims {
		audibleDB, err := m.try(level)
		if err != nil {
			return err
		}
		m.round.Trial.Level, m.round.Trial.AudibleDB = level, audibleDB
		if want == 0 || audibleDB <= 0 || try == maxAims-1 || math.Abs(audibleDB/want-1) < nearEnough {
			break
		}
		next := held(param, level*want/audibleDB)
		if next == level {
			break
		}
		level = next
	}
	if t := m.round.Trial; t.AudibleDB < leastAudibleDB {
		return cannot("%s shows this change by no more than %.1f dB in any band", m.round.Clip.Name, t.AudibleDB)
	}
	m.session.reach[m.asking.Tool.ID] = m.round.Trial.AudibleDB / math.Max(level, 1e-9)
	return nil
}

// held is the nearest value that p allows.
func held(p dsp.Param, v float64) float64 { return p.At(p.Place(min(max(v, p.Min), p.Max))) }

// try makes the trial at one level, always from the same draw, and returns
// what of it is audible.
func (m *aim) try(level float64) (audibleDB float64, err error) {
	d, t := m.draw, &m.round.Trial
	d.Level, d.R = level, rand.New(rand.NewPCG(m.seed, 0))
	asked, err := m.asking.Tool.Ask(d)
	switch {
	case err != nil:
		return 0, unfit{err}
	case len(asked) == 0:
		return 0, fmt.Errorf("drill %s: asks nothing", m.asking.Tool.ID)
	case m.fresh && m.session.lately(item{t.Tool, m.asking.Tool.Region(asked), m.round.loop}):
		return 0, cannot("this was asked on this loop a moment ago")
	case m.asking.Region != "" && m.asking.Tool.Region(asked) != m.asking.Region:
		return 0, cannot("another part of the range is wanted")
	}
	t.Asked, t.Truth = asked, asked
	if m.inserts, err = m.asking.Tool.Change(d.Clip, d.On, asked); err != nil {
		return 0, unfit{err}
	}
	m.round.solo = stemsOf(d.On, m.inserts)
	if err := m.render(); err != nil {
		return 0, err
	}
	// Compared at one loudness: what is asked about is never level alone,
	// except where it is.
	gainDB := m.untouched.lufs - m.asked.lufs
	if m.asking.Tool.LevelAsked {
		gainDB = 0
	}
	return m.session.meter.between(m.untouched.excitation, m.asked.excitation, gainDB, m.asking.Tool.Brief), nil
}

// render makes the untouched side, with the way of the sound that the tool
// leaves when it does nothing, and the side that is asked about, both at a time.
func (m *aim) render() error {
	t, clip, rateHz := m.round.Trial, m.draw.Clip, m.draw.Clip.Loop.RateHz
	neutral, err := m.asking.Tool.Change(clip, m.draw.On, dsp.Setting{})
	if err != nil {
		return unfit{err}
	}
	solo := m.round.solo
	stems, err := loaded(clip, union(solo, stemsOf(0, neutral)))
	if err != nil {
		return err
	}
	m.session.meter.prepare(rateHz)
	m.untouched, m.asked, m.heldDB = &side{}, &side{}, 0
	holds := !m.asking.Tool.LevelAsked && m.draw.On > 0
	var rendering sync.WaitGroup
	rendering.Go(func() {
		m.untouched.mixdown = mixed(clip, t.Condition.Heard, solo, neutral, stems)
		m.untouched.measured = m.session.measureUntouched(m.untouched.whole, rateHz)
		if holds && !m.untouched.one() {
			m.round.aloneLUFS = measure.IntegratedLUFS(m.untouched.alone, rateHz)
		}
	})
	m.asked.mixdown = mixed(clip, t.Condition.Heard, solo, m.inserts, stems)
	rendering.Wait()
	if holds && !m.untouched.one() {
		m.heldDB = m.asked.hold(m.round.aloneLUFS, rateHz)
	}
	m.asked.measured = measureWith(m.session.meter.ears[toChanged], m.asked.whole, rateHz)
	return errors.Join(m.untouched.check(clip.Name), m.asked.check(clip.Name))
}

// measureUntouched measures a side without a change, or tells what it was.
func (s *Session) measureUntouched(frames []dsp.Frame, rateHz float64) measured {
	return s.known.measure(frames, rateHz, func() measured {
		return measureWith(s.meter.ears[toUntouched], frames, rateHz)
	})
}

// finish measures the truth, and brings both sides to where they are heard.
func (m *aim) finish() error {
	round, t, clip := m.round, &m.round.Trial, m.draw.Clip
	if measureIt := m.asking.Tool.Measure; measureIt != nil {
		truth, err := measureIt(Made{
			RateHz: clip.Loop.RateHz, Clip: clip, On: m.draw.On, Setting: t.Asked, Inserts: m.inserts,
			Before: m.untouched.alone, After: m.asked.alone, HeldDB: m.heldDB,
		})
		if err != nil {
			return unfit{err}
		}
		if t.Choices > 0 && !m.asking.Tool.Grade(round.Rung, truth, t.Asked).Right {
			return cannot("on %s it comes out nearer to another answer", clip.Name)
		}
		t.Truth = truth
	}
	changed := m.asked
	if m.asking.Nothing && m.asking.Tool.NothingShare > 0 {
		copied := *m.untouched
		t.Truth, changed = dsp.Setting{}, &copied
	}
	lufs := PlayLUFS - t.RoveDB
	if m.asking.Tool.LevelAsked {
		round.lufs = level(lufs, m.asked.lufs-m.untouched.lufs, m.untouched, changed)
	} else {
		round.lufs = match(lufs, m.untouched, changed)
	}
	t.UntouchedDB, t.ChangedDB = m.untouched.gainDB, changed.gainDB
	round.Untouched, round.Changed = m.untouched.whole, changed.whole
	if !m.untouched.one() {
		round.Solo = [2][]dsp.Frame{m.untouched.alone, changed.alone}
	}
	t.ResidualLU = residualLU(round.Untouched, round.Changed, clip.Loop.RateHz)
	return nil
}

// residualLU is how much louder one side came out than another.
func residualLU(side, other []dsp.Frame, rateHz float64) float64 {
	var lufs float64
	var measuring sync.WaitGroup
	measuring.Go(func() { lufs = measure.IntegratedLUFS(side, rateHz) })
	otherLUFS := measure.IntegratedLUFS(other, rateHz)
	measuring.Wait()
	return otherLUFS - lufs
}
