package skill

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
)

// VerdictConfig declares an experiment on the self-test: simulated listeners
// take two forms of it.
type VerdictConfig struct {
	Runs int // listeners of each kind
	Seed uint64
}

// VerdictRow is what became of one kind of listener.
type VerdictRow struct {
	Listener        string  `json:"listener"`
	Share           float64 `json:"share"`           // right at the reference
	Pass            float64 `json:"pass"`            // share of first forms whose test passes, whether or not they count
	Fail            float64 `json:"fail"`            // share of first forms whose test fails
	Ready           float64 `json:"ready"`           // after two forms
	NotReady        float64 `json:"notReady"`        // after two forms
	ByLevel         float64 `json:"byLevel"`         // share in which a form was taken for answered by level
	Trials          float64 `json:"trials"`          // mean of the first form's test
	MonteCarloError float64 `json:"monteCarloError"` // of Pass
}

// referenceDB and catchDB are where the trials of a form lie.
const referenceDB, catchDB = 0.0, 15.0

// verdictListener makes a fresh listener; share is right at the reference.
type verdictListener struct {
	name  string
	share float64
	make  func() Listener
}

// VerdictListeners is how many kinds there are.
var VerdictListeners = len(verdictListeners())

func verdictListeners() []verdictListener {
	var all []verdictListener
	for _, share := range []float64{.50, .65, .70, .75, .80, .85, .90, .95} {
		all = append(all, verdictListener{"honest", share, func() Listener { return honestAt(share) }})
	}
	return append(all,
		verdictListener{"leaning to the first", .85, func() Listener { h := honestAt(.85); h.Bias = .5; return h }},
		verdictListener{"always the first", .5, func() Listener { return Always(0) }},
		verdictListener{"alternating", .5, func() Listener { return &Alternating{} }},
		verdictListener{"coin", .5, func() Listener { return Coin{} }},
		verdictListener{"level cue", .7, func() Listener { return LevelCue{} }},
		verdictListener{"hearing-limited", .5, func() Listener { return HearingLimited{honestAt(.95), 0} }},
		verdictListener{"quitter", .95, func() Listener { return &Quitter{honestAt(.95), 15} }},
	)
}

// honestAt is a listener who is right with a share at the reference.
func honestAt(share float64) Honest {
	t := Triple{Slope: 2.5, Lapse: .02}
	t.Threshold = referenceDB - t.at(max(share, .5+1e-9))
	return Honest{Triple: t}
}

// TryVerdicts gives every kind of listener two forms of ReferenceTest.
func TryVerdicts(ctx context.Context, cfg VerdictConfig, progress Progress) ([]VerdictRow, error) {
	if cfg.Runs < 1 {
		return nil, fmt.Errorf("verdicts need at least one run, not %d", cfg.Runs)
	}
	kinds := verdictListeners()
	runs, err := inParallel(ctx, len(kinds)*cfg.Runs, progress, func(i int) judged {
		r := randFor(cfg.Seed, i)
		return judge(r, kinds[i/cfg.Runs].make())
	})
	if err != nil {
		return nil, err
	}
	rows := make([]VerdictRow, len(kinds))
	for i, k := range kinds {
		rows[i] = verdictRow(k, runs[i*cfg.Runs:(i+1)*cfg.Runs])
	}
	return rows, nil
}

type judged struct {
	first     Verdict
	readiness Readiness
	byLevel   bool
	trials    int
}

func judge(r *rand.Rand, listener Listener) judged {
	forms := [2]*Tally{takeForm(r, listener), takeForm(r, listener)}
	first, _ := forms[0].Test.Verdict()
	_, trials := forms[0].Test.Count()
	return judged{first, Judge(forms[0], forms[1]), forms[0].ByLevel() || forms[1].ByLevel(), trials}
}

// residualCue is how often the changed choice is also the louder one where
// level is not roved: what is left of matching to 0.1 LU has a sign.
const residualCue = 0.9

// takeForm is one form, to its end or until the listener leaves.
func takeForm(r *rand.Rand, listener Listener) *Tally {
	form := &Tally{Test: Sequential{Test: ReferenceTest}}
	for !form.Over() {
		k := NextKind(r)
		s := Stimulus{LevelDB: referenceDB, Choices: 2, Changed: r.IntN(2)}
		if k.Catch {
			s.LevelDB = catchDB
		}
		s.Louder = r.IntN(2)
		if !k.Roved {
			s.Louder = s.Changed
			if r.Float64() > residualCue {
				s.Louder = 1 - s.Changed
			}
		}
		answer := listener.Answer(r, s)
		if answer == GaveUp {
			break
		}
		form.Update(k, answer == s.Changed, answer == s.Louder)
	}
	return form
}

func verdictRow(k verdictListener, runs []judged) VerdictRow {
	var pass, fail, ready, not, byLevel, trials running
	for _, j := range runs {
		pass.add(indicator(j.first == Pass))
		fail.add(indicator(j.first == Fail))
		ready.add(indicator(j.readiness == Ready))
		not.add(indicator(j.readiness == NotReady))
		byLevel.add(indicator(j.byLevel))
		trials.add(float64(j.trials))
	}
	return VerdictRow{k.name, k.share, pass.mean(), fail.mean(), ready.mean(), not.mean(), byLevel.mean(), trials.mean(),
		math.Sqrt(pass.mean() * (1 - pass.mean()) / pass.n)}
}
