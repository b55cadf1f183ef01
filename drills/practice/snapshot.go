package practice

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/gob"
	"errors"
	"fmt"
	"hash/fnv"
	"time"

	"strop/drills"
	"strop/drills/skill"
)

// History is where records come from one after the other, and where what they
// made of the state can be kept meanwhile.
type History interface {
	// Snapshot is what PutSnapshot kept under a name, and the number of the
	// last record in it; 0 where there is none.
	Snapshot(ctx context.Context, name string) (content []byte, upto int64, err error)
	PutSnapshot(ctx context.Context, name string, content []byte, upto int64) error
	// EachSince calls do with each record after a number, in order, and with its
	// own number; 0 for a record that has none yet, after all others.
	EachSince(ctx context.Context, after int64, do func(number int64, r drills.Record)) error
}

// snapshotEvery is after how many new records a snapshot is kept.
const snapshotEvery = 200

// Load is the state after all records of a history. It begins from the
// snapshot of an earlier call, where there is one that this program made of
// these drills, and gives the same state as Replay of all records to the last
// bit. A snapshot is a cache: where it cannot be read or written, all is
// replayed.
func Load(ctx context.Context, h History, tools []drills.Tool) (*State, error) {
	find := among(tools)
	name := snapshotName(tools)
	s, upto := restored(ctx, h, name, find)
	var unnumbered []drills.Record
	before, class := s.records, newClass(s)
	err := h.EachSince(ctx, upto, func(number int64, r drills.Record) {
		if number == 0 {
			unnumbered = append(unnumbered, r)
			return
		}
		class.learn(r)
		upto = number
	})
	class.over()
	if err != nil {
		return nil, err
	}
	if learned := s.records - before; learned >= snapshotEvery {
		if content, err := s.encode(upto); err == nil {
			_ = h.PutSnapshot(ctx, name, content, upto) // next time all is replayed again
		}
	}
	for _, r := range unnumbered {
		s.Learn(r)
	}
	return s, nil
}

func among(tools []drills.Tool) func(string) (drills.Tool, error) {
	byID := map[string]drills.Tool{}
	for _, t := range tools {
		byID[t.ID] = t
	}
	return func(id string) (drills.Tool, error) {
		t, there := byID[id]
		if !there {
			return t, fmt.Errorf("there is no drill %q", id)
		}
		return t, nil
	}
}

func restored(ctx context.Context, h History, name string, find func(string) (drills.Tool, error)) (*State, int64) {
	content, upto, err := h.Snapshot(ctx, name)
	if err == nil && upto > 0 {
		if s, err := decode(content, upto, find); err == nil {
			return s, upto
		}
	}
	return NewState(find), 0
}

// version of what a snapshot holds: raised whenever the same records would give
// another state. TestSnapshotVersion tells when.
const version = 2

// snapshotName is of this version and of all that a state takes from drills.
func snapshotName(tools []drills.Tool) string {
	h := fnv.New64a()
	for _, t := range tools {
		fmt.Fprintf(h, "%s %t %g %+v %+v", t.ID, t.OwnLadder, t.NothingShare, t.Level, t.Fit)
		for _, r := range t.Rungs {
			fmt.Fprintf(h, "%s %d", r.ID, len(r.Choices))
		}
	}
	return fmt.Sprintf("practice %d %016x", version, h.Sum64())
}

// stateKept and knownKept are what a snapshot holds.
type stateKept struct {
	Upto    int64 // number of the last record
	Records int
	Known   []knownKept // in the order in which they were met
}

type knownKept struct {
	Skill          Skill
	Chance         float64
	GuessDB        float64
	Fresh          int
	Trials, Right  int
	Last           time.Time
	Probes, Passed int
	Confused       map[string]int
	Predicted      skill.Calibration
	Trainer        skill.TrainerState
	Loops          map[loopKey][]float64
	Easy, Review   share
	Told           evidence
}

// encode is the sum of what follows it, then the state.
func (s *State) encode(upto int64) ([]byte, error) {
	kept := stateKept{Upto: upto, Records: s.records}
	for _, k := range s.order {
		kept.Known = append(kept.Known, s.known[k].kept())
	}
	var b bytes.Buffer
	err := gob.NewEncoder(&b).Encode(kept)
	sum := sha256.Sum256(b.Bytes())
	return append(sum[:], b.Bytes()...), err
}

func (k *Known) kept() knownKept {
	kept := knownKept{
		Skill: k.Skill, Chance: k.chance, GuessDB: k.guessDB, Fresh: k.fresh, Trials: k.Trials, Right: k.Right, Last: k.Last,
		Probes: k.Probes, Passed: k.Passed, Confused: k.Confused, Predicted: k.Predicted, Trainer: k.trainer.State(),
		Loops: map[loopKey][]float64{}, Easy: k.easy, Review: k.review, Told: k.told,
	}
	for key, loop := range k.loops {
		kept.Loops[key] = loop.State()
	}
	return kept
}

// decode refuses a content of which a bit has changed, or that belongs to
// another number: what is read from it is believed.
func decode(content []byte, upto int64, find func(string) (drills.Tool, error)) (*State, error) {
	sum, body := content[:min(len(content), sha256.Size)], content[min(len(content), sha256.Size):]
	if want := sha256.Sum256(body); !bytes.Equal(sum, want[:]) {
		return nil, errors.New("the snapshot is damaged")
	}
	var kept stateKept
	if err := gob.NewDecoder(bytes.NewReader(body)).Decode(&kept); err != nil {
		return nil, err
	}
	if kept.Upto != upto {
		return nil, fmt.Errorf("a snapshot up to record %d is kept as one up to %d", kept.Upto, upto)
	}
	s := NewState(find)
	s.records = kept.Records
	for _, k := range kept.Known {
		known, err := s.restore(k)
		if err != nil {
			return nil, err
		}
		s.known[k.Skill], s.order = known, append(s.order, k.Skill)
	}
	return s, nil
}

func (s *State) restore(kept knownKept) (*Known, error) {
	t := s.tool(kept.Skill.Tool)
	if t == nil {
		return nil, fmt.Errorf("there is no drill %q", kept.Skill.Tool)
	}
	if !(kept.Chance >= 0 && kept.Chance < 1) || kept.Told.Gap < 0 || kept.Told.Gap >= len(gaps) {
		return nil, fmt.Errorf("no skill has a chance of %g and a gap %d", kept.Chance, kept.Told.Gap)
	}
	k := unknown(kept.Skill, *t, kept.Chance, kept.GuessDB, kept.Fresh, s.grids)
	if err := k.trainer.Restore(kept.Trainer); err != nil {
		return nil, err
	}
	for key, state := range kept.Loops {
		loop, err := skill.RestoreMaterial(kept.Chance, skill.DefaultMaterialSpreadDB, state)
		if err != nil {
			return nil, err
		}
		k.loops[key] = loop
	}
	if kept.Confused != nil { // gob leaves out what is empty
		k.Confused = kept.Confused
	}
	k.Trials, k.Right, k.Last, k.Probes, k.Passed = kept.Trials, kept.Right, kept.Last, kept.Probes, kept.Passed
	k.Predicted, k.easy, k.review, k.told = kept.Predicted, kept.Easy, kept.Review, kept.Told
	return k, nil
}
