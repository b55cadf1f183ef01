package progress_test

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"strop/drills"
	"strop/drills/progress"
	"strop/dsp"
)

var update = flag.Bool("update", false, "write the golden files anew")

var (
	hz      = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 20, Max: 20000, Neutral: 1000, Scale: dsp.Log}
	mix     = drills.Condition{Transducer: "headphones", Heard: "mix"}
	alone   = drills.Condition{Transducer: "loudspeakers", Heard: "alone"}
	morning = time.Date(2026, 5, 4, 7, 0, 0, 0, time.UTC)
)

// tone is a drill as small as can be: which octave, as a choice or freely.
var tone = drills.Tool{
	ID: "tone", Title: "Tone", Type: "EQ", Error: "errorOct", Unit: "oct",
	Level:  dsp.Param{ID: "boostDB", Name: "boost", Unit: "dB", Min: 1, Max: 12, Neutral: 9, Scale: dsp.Log},
	Params: []dsp.Param{hz},
	Rungs: []drills.Rung{
		{ID: "four", Title: "four bands", Choices: []drills.Choice{choice(250), choice(500), choice(1000), choice(2000)}},
		{ID: "free", Title: "any frequency"},
	},
	Grade: func(_ drills.Rung, truth, guess dsp.Setting) drills.Score {
		e := dsp.Octaves(truth.Get(hz), guess.Get(hz))
		return drills.Score{Right: math.Abs(e) < 0.2, Errors: map[string]float64{"errorOct": e}}
	},
	Region: func(truth dsp.Setting) string { return dsp.FormatHz(truth.Get(hz)) },
}

func choice(freqHz float64) drills.Choice {
	return drills.Choice{Label: dsp.FormatHz(freqHz), Guess: dsp.Setting{"freqHz": freqHz}}
}

func find(id string) (drills.Tool, error) {
	if id == tone.ID {
		return tone, nil
	}
	return drills.Tool{}, errors.New("no such drill")
}

// answer is a record of a truth and a guess; 0 is nothing.
func answer(rung string, truthHz, guessHz float64) drills.Record {
	r := drills.Record{At: morning}
	r.Trial = drills.Trial{Tool: "tone", Rung: rung, Condition: mix, Level: 6, Truth: setting(truthHz), Asked: setting(max(truthHz, 500))}
	r.Answer = drills.Answer{Guess: setting(guessHz), TookS: 4}
	r.Score.Right = truthHz == guessHz
	if truthHz > 0 && guessHz > 0 {
		r.Score = tone.Grade(drills.Rung{}, r.Trial.Truth, r.Answer.Guess)
	}
	return r
}

func setting(freqHz float64) dsp.Setting {
	if freqHz == 0 {
		return dsp.Setting{}
	}
	return dsp.Setting{"freqHz": freqHz}
}

func summarise(records []drills.Record) progress.Progress {
	return progress.Summarise(records, find, time.UTC)
}

// 16 of 20: Wilson 0.5840 to 0.9193. Student's sleep data (Biometrika 6,
// 1908) as errors: mean 1.58, 0.7001 to 2.4599 (R's documentation of t.test).
func TestFiguresAreThePublishedOnes(t *testing.T) {
	var records []drills.Record
	for _, e := range []float64{1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4} {
		r := answer("free", 1000, 1000)
		r.Score.Errors["errorOct"] = -e
		r.Score.Right = len(records) < 6
		records = append(records, r)
	}
	for range 10 {
		records = append(records, answer("free", 2000, 2000))
	}
	r := summarise(records).Results[0]
	if s := r.Overall.Right; s.Count != 16 || s.Of != 20 || math.Abs(s.Interval.Lo-0.5840) > 1e-4 || math.Abs(s.Interval.Hi-0.9193) > 1e-4 {
		t.Errorf("right: %+v", s)
	}
	sleep := r.Regions[0].Error
	if sleep.Answers != 10 || math.Abs(sleep.Size.Mean-1.58) > 1e-9 || math.Abs(sleep.Bias.Mean+1.58) > 1e-9 ||
		math.Abs(sleep.Size.Interval.Lo-0.7001142) > 1e-6 || math.Abs(sleep.Bias.Interval.Lo+2.4598858) > 1e-6 {
		t.Errorf("error: %+v", *sleep)
	}
}

func TestResultsAreNeverPooled(t *testing.T) {
	other := answer("free", 500, 500)
	other.Trial.Condition = alone
	unknown := answer("free", 500, 1000)
	unknown.Trial.Tool = "theremin"
	p := summarise([]drills.Record{answer("four", 500, 500), answer("free", 500, 500), other, unknown, answer("four", 500, 250)})
	var got []string
	for _, r := range p.Results {
		got = append(got, fmt.Sprint(r.Title, " ", r.Rung, " ", r.Condition.Heard, " ", r.Answers, " ", r.Overall.Right.Count))
	}
	want := []string{"Tone four mix 2 1", "Tone free mix 1 1", "Tone free alone 1 1", "theremin free mix 1 0"}
	if diff := cmp.Diff(want, got); diff != "" || p.Answers != 5 {
		t.Errorf("%d answers %s", p.Answers, diff)
	}
	if last := p.Results[3]; last.Known || last.Overall.Error != nil || len(last.Regions) != 0 || len(last.Days) != 1 {
		t.Errorf("of an unknown drill: %+v", last)
	}
}

// Nothing is an answer: right where nothing was changed, and counted apart.
func TestNothing(t *testing.T) {
	r := summarise([]drills.Record{
		answer("free", 0, 0), answer("free", 0, 0), answer("free", 0, 500),
		answer("free", 500, 0), answer("free", 500, 500), answer("free", 500, 1000), answer("free", 500, 0),
	}).Results[0]
	if r.Answers != 7 || r.Overall.Right.Count != 1 || r.Overall.Right.Of != 4 || r.Missed.Count != 2 || r.Missed.Of != 4 ||
		r.FalseAlarms.Count != 1 || r.FalseAlarms.Of != 3 {
		t.Errorf("%+v", r)
	}
	if r.Overall.Error != nil || r.Overall.Missing != progress.Enough-2 {
		t.Errorf("two errors tell %+v, %d missing", r.Overall.Error, r.Overall.Missing)
	}
}

// A day is a date where the listener is, summer time included: on 29 March
// 2026 clocks in Berlin went from 02:00 to 03:00, 01:00 UTC.
func TestDaysAreLocal(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	var records []drills.Record
	for _, at := range []string{"2026-03-28T22:30:00Z", "2026-03-28T23:30:00Z", "2026-03-29T21:59:00Z", "2026-03-29T22:01:00Z"} {
		r := answer("free", 500, 500)
		if r.At, err = time.Parse(time.RFC3339, at); err != nil {
			t.Fatal(err)
		}
		records = append(records, r)
	}
	var got []string
	for _, d := range progress.Summarise(records, find, berlin).Results[0].Days {
		got = append(got, fmt.Sprint(d.Name, " ", d.Right.Of))
	}
	if diff := cmp.Diff([]string{"2026-03-28 1", "2026-03-29 2", "2026-03-30 1"}, got); diff != "" {
		t.Error(diff)
	}
}

func TestRegionsFromLowToHigh(t *testing.T) {
	var records []drills.Record
	for _, f := range []float64{2000, 125, 16000, 1000, 500} {
		records = append(records, answer("free", f, f))
	}
	var got []string
	for _, part := range summarise(records).Results[0].Regions {
		got = append(got, part.Name)
	}
	want := []string{dsp.FormatHz(125), dsp.FormatHz(500), dsp.FormatHz(1000), dsp.FormatHz(2000), dsp.FormatHz(16000)}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

var octaves = []float64{125, 250, 500, 1000, 2000, 4000, 8000}

// listen simulates answers on the continuous scale: off by biasOct, and by
// chance by a standard deviation of a third of an octave.
func listen(r *rand.Rand, n int, biasOct func(freqHz float64) float64) (records []drills.Record) {
	for i := range n {
		f := octaves[i%len(octaves)]
		records = append(records, answer("free", f, f*math.Exp2(biasOct(f)+r.NormFloat64()/3)))
	}
	return records
}

func biases(records []drills.Record) (text []string) {
	for _, b := range summarise(records).Results[0].Biases {
		text = append(text, b.Text)
	}
	return text
}

func TestBiasIsFound(t *testing.T) {
	for name, c := range map[string]struct {
		bias func(float64) float64
		want []string
	}{
		"high above": {func(f float64) float64 {
			if f >= 2000 {
				return 1.0 / 3
			}
			return 0
		}, []string{"You answer about a third of an octave high from 2 kHz up."}},
		"low at one": {func(f float64) float64 {
			if f == 500 {
				return -1
			}
			return 0
		}, []string{"You answer about an octave low at 500 Hz."}},
		"both ways": {func(f float64) float64 { return -math.Copysign(0.5, math.Log(f/900)) },
			[]string{"You answer about half an octave high up to 500 Hz.", "You answer about half an octave low from 1 kHz up."}},
		"everywhere": {func(float64) float64 { return -0.5 }, []string{"You answer about half an octave low everywhere."}},
	} {
		t.Run(name, func(t *testing.T) {
			if diff := cmp.Diff(c.want, biases(listen(rand.New(rand.NewPCG(1, 2)), 490, c.bias))); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// A listener without bias is told of one in no more than 5 % of histories:
// here 400, of which more than 34 would come by chance in 1 of 1000 cases.
func TestNoBiasOutOfChance(t *testing.T) {
	told := 0
	for seed := range uint64(400) {
		if len(biases(listen(rand.New(rand.NewPCG(seed, 3)), 105, func(float64) float64 { return 0 }))) > 0 {
			told++
		}
	}
	if told > 34 {
		t.Errorf("a bias out of chance in %d of 400 histories", told)
	}
}

// Among choices, whoever misses the lowest band must answer higher, and the
// highest lower. That is no bias.
func TestEndsOfTheChoicesAreNoBias(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 5))
	bands := []float64{250, 500, 1000, 2000}
	var records []drills.Record
	for i := range 400 {
		truth, guess := i%4, i%4
		if r.IntN(3) == 0 {
			guess = min(max(truth+2*r.IntN(2)-1, 0), 3)
		}
		records = append(records, answer("four", bands[truth], bands[guess]))
	}
	if low := summarise(records).Results[0].Regions[0].Error.Bias.Interval; low.Lo <= 0 {
		t.Fatalf("the lowest band does not lean: %v", low)
	}
	if got := biases(records); len(got) > 0 {
		t.Errorf("told %q", got)
	}
}

func TestBiasInOtherUnits(t *testing.T) {
	decibels := tone
	decibels.Unit = "dB"
	var records []drills.Record
	for i := range 20 {
		records = append(records, answer("free", 500, 500*math.Exp2(1.4+0.1*float64(i%3))))
	}
	p := progress.Summarise(records, func(string) (drills.Tool, error) { return decibels, nil }, time.UTC)
	if got := p.Results[0].Biases; len(got) != 1 || got[0].Text != "You answer about 1.49 dB high at 500 Hz." {
		t.Errorf("%+v", got)
	}
	decibels.Region = func(dsp.Setting) string { return drills.Everywhere }
	p = progress.Summarise(records, func(string) (drills.Tool, error) { return decibels, nil }, time.UTC)
	if got := p.Results[0].Biases; len(got) != 1 || got[0].Text != "You answer about 1.49 dB high everywhere." {
		t.Errorf("%+v", got)
	}
}

// history is what the golden files show: three days, two ways to answer, a
// drill that is not known, too few answers here and there.
func history() []drills.Record {
	r := rand.New(rand.NewPCG(10, 11))
	var records []drills.Record
	for day, n := range []int{35, 3, 42} {
		for i, rec := range listen(r, n, func(f float64) float64 { return math.Log2(f/1000) / 8 }) {
			rec.At = morning.AddDate(0, 0, 3*day).Add(time.Duration(i) * time.Minute)
			rec.Trial.Level = 6 - float64(day)
			records = append(records, rec)
		}
	}
	few := answer("four", 250, 500)
	few.Trial.Condition = alone
	unknown := answer("two", 250, 500)
	unknown.Trial.Tool = "theremin"
	return append(records, answer("free", 0, 0), answer("free", 0, 500), answer("free", 500, 0), few, few, unknown)
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Error(diff)
	}
}

func text(t *testing.T, p progress.Progress) string {
	t.Helper()
	var b strings.Builder
	if err := progress.WriteText(&b, p, time.UTC); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestText(t *testing.T) {
	got := text(t, summarise(history()))
	golden(t, "progress.txt", got)
	for i, line := range strings.Split(got, "\n") {
		if strings.ContainsAny(line, "\x1b\t") || len([]rune(line)) > 100 {
			t.Errorf("line %d is not plain: %q", i+1, line)
		}
	}
	if got := text(t, summarise(nil)); got != "No answers yet.\n" {
		t.Errorf("of nothing: %q", got)
	}
}

// The names of the fields are read by other programs.
func TestJSON(t *testing.T) {
	var b strings.Builder
	if err := progress.WriteJSON(&b, summarise(history())); err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	var walk func(path string, v any)
	walk = func(path string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for k, e := range v {
				walk(path+"."+k, e)
			}
		case []any:
			for _, e := range v {
				walk(path+"[]", e)
			}
		default:
			names[fmt.Sprintf("%s %T", strings.TrimPrefix(path, "."), v)] = true
		}
	}
	var v any
	if err := json.Unmarshal([]byte(b.String()), &v); err != nil {
		t.Fatal(err)
	}
	walk("", v)
	golden(t, "fields.txt", strings.Join(sorted(names), "\n")+"\n")
	var back progress.Progress
	if err := json.Unmarshal([]byte(b.String()), &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(summarise(history()), back); diff != "" {
		t.Error(diff)
	}
}

// BenchmarkSummarise summarises 100 000 records of 200 days.
func BenchmarkSummarise(b *testing.B) {
	records := listen(rand.New(rand.NewPCG(1, 2)), 100_000, func(float64) float64 { return 0.1 })
	for i := range records {
		records[i].At = morning.Add(time.Duration(i) * 3 * time.Minute)
		if i%2 == 0 {
			records[i].Trial.Rung = "four"
		}
	}
	for b.Loop() {
		progress.Summarise(records, find, time.UTC)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(records)), "ns/record")
}

func ExampleSummarise() {
	var records []drills.Record
	for i := range 12 {
		records = append(records, answer("free", 2000, 2000*math.Exp2(0.3+0.01*float64(i%5))))
	}
	p := progress.Summarise(records, find, time.UTC)
	fmt.Println(p.Results[0].Biases[0].Text)
	// Output: You answer about a third of an octave high at 2 kHz.
}
