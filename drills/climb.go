package drills

// openingPlace is how far down the ladder a listener must have come on one
// way to answer before the next, harder one is offered: the lower third.
const openingPlace = 1.0 / 3

// Climb finds where a listener stands from the records of a tool under one
// condition, oldest first: the hardest way to answer that is open, and a
// tracker that has heard every answer given on it. start makes a fresh
// tracker. Everything is recomputed; nothing is stored.
func Climb(t Tool, records []Record, c Condition, start func(Rung) Tracker) (Rung, Tracker) {
	for i, rung := range t.Rungs {
		tracker, opened := replay(t, rung, records, c, start(rung))
		if !opened || i == len(t.Rungs)-1 {
			return rung, tracker
		}
	}
	panic("drills: a tool without a way to answer passed Validate")
}

// Replay is the tracker of one way to answer after all its records.
func Replay(t Tool, rung Rung, records []Record, c Condition, start func(Rung) Tracker) Tracker {
	tracker, _ := replay(t, rung, records, c, start(rung))
	return tracker
}

func replay(t Tool, rung Rung, records []Record, c Condition, tracker Tracker) (_ Tracker, opened bool) {
	for _, r := range records {
		if r.Trial.Tool != t.ID || r.Trial.Rung != rung.ID || r.Trial.Condition != c || !r.Moves() {
			continue
		}
		tracker.Update(r.Score.Right)
		opened = opened || t.Level.Place(tracker.Level()) <= openingPlace
	}
	return tracker, opened
}

// Moves reports whether an answer tells how hard the next trial should be:
// not where nothing was changed, nor where a trial was made easy on purpose.
func (r Record) Moves() bool { return len(r.Trial.Truth) > 0 && r.Trial.Kind == Training }
