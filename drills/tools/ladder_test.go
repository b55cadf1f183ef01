package tools_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"strop/drills"
	"strop/drills/tools"
	"strop/dsp"
	"strop/dsp/measure"
)

// published are least differences in the unit of the ladders that end at them.
// Where a range was published, the end that is easier to hear comes first; a
// factor is one and the share that is heard.
var published = map[string]struct {
	from, to float64
	source   string
}{
	"dropouts":        {2, 3, "gap in noise, ms: R. Plomp, JASA 36 (1964) (from memory)"},
	"wow":             {0.1, 0.2, "peak at 4 Hz, %, on piano and tones: common practice, no source"},
	"pan":             {1, 1, "minimum audible angle, °: A. W. Mills, JASA 30 (1958), abstract"},
	"make-pan":        {4, 4, "1° between loudspeakers at ±30° by the tangent law, in % of a pan knob: computed independently"},
	"depth":           {2, 3, "direct-to-reverberant ratio, dB, at 0 to 10 dB: E. Larsen et al., JASA 124 (2008)"},
	"reverb-amount":   {2, 3, "direct-to-reverberant ratio, dB, at 0 to 10 dB: E. Larsen et al., JASA 124 (2008)"},
	"reverb-decay":    {1.18, 1.25, "reverberation time in music: M. Blevins et al. (2013); ISO 3382-1:2009, Table A.1, has 5 %"},
	"reverb-predelay": {15, 26, "echo of a piano, ms: A. D. Brown, G. C. Stecker & D. J. Tollin, JARO 16 (2015), table"},
	"echo-time":       {1.06, 1.06, "one interval of time: C. Drake & M.-C. Botte, Perception & Psychophysics 54 (1993) (from memory)"},
	"mic-delay":       {math.Log2(1.05), math.Log2(1.05), "delay of rippled noise, octaves: W. A. Yost, R. Hill & T. Perez-Falcon, JASA 63 (1978) (from memory)"},
	"mic-how":         {0.1, 0.1, "shortest delay of a comb that is heard, ms: S. Brunner, H.-J. Maempel & S. Weinzierl, AES 122nd Convention (2007), as quoted"},
	"make-delay":      {0.1, 0.1, "shortest delay of a comb that is heard, ms: S. Brunner, H.-J. Maempel & S. Weinzierl, AES 122nd Convention (2007), as quoted"},
	"correlation":     {0.31, 0.4, "0.04 from 1 and 0.4 from 0, and between them on a line at 0.25: K. J. Gabriel & H. S. Colburn, JASA 69 (1981) (from memory)"},
	"tune-cents":      {10, 10, "melodies, cents: T. Hill & I. Summers (2007), abstract"},
	"tune-layer":      {10, 10, "melodies, cents: T. Hill & I. Summers (2007), abstract"},
	"make-pitch":      {10, 10, "melodies, cents: T. Hill & I. Summers (2007), abstract"},
	"time-ms":         {2, 3, "asynchrony, ms: C. S. Watson (2004), after I. J. Hirsh (1959), as quoted"},
	"time-grid":       {2, 3, "asynchrony, ms: C. S. Watson (2004), after I. J. Hirsh (1959), as quoted"},
	"time-layer":      {2, 3, "asynchrony, ms: C. S. Watson (2004), after I. J. Hirsh (1959), as quoted"},

	// These end by excitation, and at a published difference too.
	"comb":         {-22, -13, "copy, dB: S. Brunner, H.-J. Maempel & S. Weinzierl, AES 122nd Convention (2007), as quoted"},
	"level-whole":  {0.5, 1, "change of level, dB: Open University, Hearing, section 10.3"},
	"level-stem":   {0.5, 1, "change of level, dB: Open University, Hearing, section 10.3"},
	"balance":      {1, 2, "twice a change of level, dB: Open University, Hearing, section 10.3"},
	"make-level":   {0.5, 1, "change of level, dB: Open University, Hearing, section 10.3"},
	"eq-band":      {1.5, 1.5, "Q 1, dB: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted"},
	"eq-gain":      {1.5, 1.5, "Q 1, dB: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted"},
	"eq-way":       {1.5, 1.5, "Q 1, dB: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted"},
	"eq-shape":     {1.5, 1.5, "Q 1, dB: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted"},
	"eq-two":       {1.5, 1.5, "Q 1, dB: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted"},
	"eq-room":      {1.5, 1.5, "Q 1, dB: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted"},
	"eq-resonance": {3, 5, "Q 10 to 50, dB: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted"},
	"make-eq":      {1.5, 1.5, "Q 1, dB: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted"},
}

// A ladder that ends at a published least difference ends between that and
// twice as much.
func TestLaddersEndWhereItWasPublished(t *testing.T) {
	seen := map[string]bool{}
	for _, tool := range tools.All() {
		row, ok := published[tool.ID]
		if seen[tool.ID] = true; !ok {
			if tool.Floor == drills.AtThreshold {
				t.Errorf("%s: no published threshold stands in the table", tool.ID)
			}
			continue
		}
		hard, from, most := tool.Level.Min, row.from, 2*row.to
		switch {
		case tool.Level.Unit == ":1" || tool.ID == "echo-time":
			most = 1 + 2*(row.to-1)
		case row.to < 0:
			most = row.to
		}
		if hard < from*0.95 && from > 0 || hard < from && from < 0 || hard > most*1.05 {
			t.Errorf("%s: the ladder ends at %g %s, published are %g to %g: %s", tool.ID, hard, tool.Level.Unit, row.from, row.to, row.source)
		}
	}
	for id := range published {
		if !seen[id] {
			t.Errorf("there is no drill %q", id)
		}
	}
}

// sizes are what is asked, in the unit of the ladder, for the drills whose
// ladder is a size of what is asked.
func sizes() map[string]func(s dsp.Setting) float64 {
	of := func(id string) func(dsp.Setting) float64 {
		return func(s dsp.Setting) float64 { return math.Abs(s[id]) }
	}
	signed := func(id string) func(dsp.Setting) float64 { return func(s dsp.Setting) float64 { return s[id] } }
	under := func(id string) func(dsp.Setting) float64 { return func(s dsp.Setting) float64 { return -s[id] } }
	boost := func(s dsp.Setting) float64 { // cuts are 1.5 times as deep
		if db := s["gainDB"]; db < 0 {
			return -db / 1.5
		}
		return s["gainDB"]
	}
	undone := func(s dsp.Setting) float64 { return boost(dsp.Setting{"gainDB": -s["gainDB"]}) }
	all := map[string]func(dsp.Setting) float64{
		"level-whole": of("gainDB"), "level-stem": of("gainDB"), "balance": of("balanceDB"), "make-level": of("gainDB"),
		"width":      func(s dsp.Setting) float64 { return math.Abs(dsp.ToDB(s["widthPct"] / 100)) },
		"width-stem": func(s dsp.Setting) float64 { return math.Abs(dsp.ToDB(s["widthPct"] / 100)) },
		"make-pan":   of("panPct"), "eq-band": boost, "eq-way": boost, "eq-shape": boost, "eq-two": boost, "eq-room": boost,
		"eq-resonance": boost, "make-eq": undone, "comp-there": of("meanReductionDB"), "comp-character": of("meanReductionDB"),
		"gate-early": of("tailMS"), "limiter-distortion": signed("distortionDB"), "reverb-kind": under("drrDB"), "reverb-stem": under("drrDB"),
		"echo-note": signed("echoDB"), "mic-polarity": signed("turnedDB"), "make-polarity": signed("turnedDB"), "mic-how": of("delayMS"),
		"mono-fold": of("lossDB"), "wide-kind": signed("sideDB"), "make-delay": of("nudgeMS"), "sat-kind": signed("distortionDB"),
		"sat-clipping": of("peaksDB"), "sat-stem": signed("distortionDB"), "tune-cents": of("cents"), "tune-layer": of("cents"),
		"make-pitch": of("cents"), "time-ms": of("shiftMS"), "time-grid": of("shiftMS"), "time-layer": of("shiftMS"), "mix-attribute": of("size"), "mix-insert": of("size"),
		"mix-crowded": of("gainDB"), "mix-cover": of("gainDB"), "fault-kind": of("place"), "fault-stem": of("place"),
	}
	for _, tool := range tools.All() {
		if tool.Type == "source" && all[tool.ID] == nil && tool.ID != "fault-size" {
			all[tool.ID] = signed(tool.Level.ID)
		}
	}
	return all
}

// What is asked lies on the ladder at every level: at the level itself where
// there are choices, and on a scale no smaller than the hard end, no plainer
// than the easy one, and never all at one place.
func TestAskedLiesOnTheLadder(t *testing.T) {
	sizes := sizes()
	for _, tool := range tools.All() {
		size := sizes[tool.ID]
		if size == nil {
			continue // the ladder is how far answers lie apart: held by TestAnswersLieApart, and by their spread
		}
		for _, rung := range tool.Rungs {
			for _, place := range []float64{0, 0.5, 1} {
				level := tool.Level.At(place)
				lo, hi, n := asks(t, tool, rung, level, size)
				onLadder := lo > tool.Level.Min-1e-6 && hi < tool.Level.Max+1e-6
				atLevel := math.Abs(lo-level) < 1e-6 && math.Abs(hi-level) < 1e-6
				switch {
				case n == 0:
					t.Errorf("%s/%s asks nothing at %g", tool.ID, rung.ID, level)
				case !onLadder, rung.Surface != drills.Ruler && !atLevel:
					t.Errorf("%s/%s: at %g %s %g to %g are asked, the ladder goes from %g to %g", tool.ID, rung.ID, level, tool.Level.Unit, lo, hi, tool.Level.Min, tool.Level.Max)
				case rung.Surface == drills.Ruler && tool.Params[0].ID != "freqHz" && place == 1 && atLevel:
					t.Errorf("%s/%s: at the easy end the level tells the answer, %g %s", tool.ID, rung.ID, level, tool.Level.Unit)
				}
			}
		}
	}
}

// asks are the smallest and the largest of n sizes that are asked at a level.
func asks(t *testing.T, tool drills.Tool, rung drills.Rung, level float64, size func(dsp.Setting) float64) (lo, hi float64, n int) {
	t.Helper()
	lo, hi = math.Inf(1), math.Inf(-1)
	for i, c := range materials(t) {
		targets, err := tool.Fit.Targets(c)
		if err != nil {
			continue
		}
		for k := range 2 {
			r := rand.New(rand.NewPCG(uint64(10*i+k), 3))
			asked, err := tool.Ask(drills.Draw{R: r, Rung: rung, Level: level, Clip: c, On: targets[r.IntN(len(targets))]})
			if err != nil {
				continue
			}
			lo, hi, n = min(lo, size(asked)), max(hi, size(asked)), n+1
		}
	}
	return lo, hi, n
}

// The answers of a drill whose ladder is how far they lie apart do so: the
// nearer the level, the nearer the nearest of them, in the drill's own error.
func TestAnswersLieApart(t *testing.T) {
	sizes := sizes()
	for _, tool := range tools.All() {
		if !tool.OwnLadder || sizes[tool.ID] != nil || tool.Turned() || tool.Rungs[0].Choices != nil {
			continue
		}
		last := 0.0
		for _, place := range []float64{0, 0.5, 1} {
			apart, err := nearestAnswers(t, tool, tool.Level.At(place))
			if err != nil {
				t.Errorf("%s: %v", tool.ID, err)
			}
			if apart < last {
				t.Errorf("%s: at %g the answers lie %g %s apart, less than at a harder level", tool.ID, tool.Level.At(place), apart, tool.Unit)
			}
			last = apart
		}
		if first, _ := nearestAnswers(t, tool, tool.Level.Min); !(last > 1.4*first) {
			t.Errorf("%s: the answers lie %g %s apart at the hard end and %g at the easy one", tool.ID, first, tool.Unit, last)
		}
	}
}

// nearestAnswers is the least error of one answer for another that is offered.
func nearestAnswers(t *testing.T, tool drills.Tool, level float64) (float64, error) {
	t.Helper()
	refused := errors.New("it can be asked on none of the clips")
	for _, c := range materials(t) {
		targets, err := tool.Fit.Targets(c)
		if err != nil {
			continue
		}
		d := drills.Draw{R: random(4), Rung: tool.Rungs[0], Level: level, Clip: c, On: targets[0]}
		asked, err := tool.Ask(d)
		if err != nil {
			refused = err
			continue
		}
		choices, err := tool.Choices(d, asked)
		if err != nil {
			refused = err
			continue
		}
		d.Rung.Choices = choices
		nearest := math.Inf(1)
		for i, a := range choices {
			for _, b := range choices[:i] {
				nearest = min(nearest, math.Abs(tool.Grade(d.Rung, a.Guess, b.Guess).Errors[tool.Error]))
			}
		}
		return nearest, nil
	}
	return 0, fmt.Errorf("no answers: %w", refused)
}

// Where kinds are told apart, the level is how much of the sound they take part
// in: of a microphone how far it lies under its place, of a width its side over
// its middle, by the meters.
func TestKindsTakePartByTheLevel(t *testing.T) {
	for _, levelDB := range []float64{-9, -4, 0} {
		for _, kind := range []struct {
			id  string
			set dsp.Setting
		}{{"mic-polarity", dsp.Setting{"turnedDB": levelDB}}, {"make-polarity", dsp.Setting{"turnedDB": levelDB, "turned": 1}}} {
			before, after := made(t, kind.id, 1, kind.set)
			near(t, kind.id, measure.RMSDBFS(after)-measure.RMSDBFS(before), levelDB, 0.01)
			if before[100][0]*after[100][0] > 0 {
				t.Errorf("%s: the polarity is not turned over", kind.id)
			}
		}
		for kind := 1.0; kind <= 3; kind++ {
			_, after := made(t, "wide-kind", 3, dsp.Setting{"kind": kind, "sideDB": levelDB})
			near(t, fmt.Sprintf("wide-kind %g", kind), -measure.MidSideDB(after), levelDB, 0.3)
		}
	}
	for _, tool := range tools.All() {
		if of := map[string]bool{"mic-polarity": true, "make-polarity": true, "wide-kind": true}; (tool.Floor == drills.OfKinds) != of[tool.ID] {
			t.Errorf("%s: its hard end is by %v", tool.ID, tool.Floor)
		}
	}
}
