package skill_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"strop/drills/skill"
)

// The example of Shrout & Fleiss 1979: six targets, four judges. Published
// coefficients .17 .29 .71 .44 .62 .91 (from memory), to four places computed
// independently; the interval of ICC(2,1), .019 to .761, is that of R's
// package psych (from memory).
func TestReliabilityOfShroutAndFleiss(t *testing.T) {
	r, err := skill.ReliabilityOf([][]float64{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}}, .95)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"MSB", r.BetweenSquare, 11.2417}, {"MSW", r.WithinSquare, 6.2639}, {"MSC", r.OccasionSquare, 32.4861}, {"MSE", r.ErrorSquare, 1.0194},
		{"ICC(1,1)", r.OneWay, .1657}, {"ICC(2,1)", r.Agreement, .2898}, {"ICC(3,1)", r.Consistency, .7148},
		{"ICC(1,k)", r.OneWayMean, .4428}, {"ICC(2,k)", r.AgreementMean, .6201}, {"ICC(3,k)", r.ConsistencyMean, .9093},
	} {
		within(t, c.what, c.got, c.want, 6e-5)
	}
	within(t, "lower end", r.AgreementInterval.Lo, .019, 6e-4)
	within(t, "upper end", r.AgreementInterval.Hi, .761, 6e-4)
	within(t, "standard error", r.StandardError, math.Sqrt(6.2639), 1e-4)
}

func TestReliabilityRefusesTooLittle(t *testing.T) {
	for _, rows := range [][][]float64{nil, {{1, 2}}, {{1}, {2}}, {{1, 2}, {3}}} {
		if _, err := skill.ReliabilityOf(rows, .95); err == nil {
			t.Errorf("%v was accepted", rows)
		}
	}
}

// Differences between two measurements of the same exceed the minimal
// detectable change in one of twenty. Computed independently: standard error
// 1, 1.5, 2 dB gives 2.8, 4.2, 5.5 dB.
func TestMinimalDetectable(t *testing.T) {
	for se, want := range map[float64]float64{1: 2.8, 1.5: 4.2, 2: 5.5} {
		within(t, "minimal detectable change", skill.MinimalDetectable(se), want, .051)
	}
	r, beyond := rand.New(rand.NewPCG(1, 1)), 0
	for range 20000 {
		if math.Abs(1.5*(r.NormFloat64()-r.NormFloat64())) > skill.MinimalDetectable(1.5) {
			beyond++
		}
	}
	within(t, "share beyond", float64(beyond)/20000, .05, .006)
}

// Spearman and Brown 1910, computed independently.
func TestLengthening(t *testing.T) {
	for from, want := range map[float64]float64{.5: 9, .6: 6, .7: 3.86, .8: 2.25} {
		within(t, "lengthening to .9", skill.Lengthening(from, .9), want, .005)
	}
}

// Computed independently from Rasch's formula with guessing.
func TestRasch(t *testing.T) {
	for excess, want := range map[float64][3]float64{0: {.5, .625, .75}, 1: {.7311, .7983, .8655}, 2: {.8808, .9106, .9404}} {
		for i, chance := range []float64{0, 1. / 4, 1. / 2} {
			within(t, "share right", skill.Rasch(excess, chance), want[i], 5.1e-5)
		}
	}
	for chance, want := range map[float64][3]float64{0: {.2500, 0, .5}, 1. / 8: {.1965, .188, .604}, 1. / 4: {.1547, .312, .683}, 1. / 2: {.0902, .481, .809}} {
		at := skill.MostInformative(chance)
		within(t, "most information", skill.RaschInformation(at, chance), want[0], 6e-5)
		within(t, "where", at, want[1], 6e-4)
		within(t, "share right there", skill.Rasch(at, chance), want[2], 6e-4)
	}
}

// Parallel forms differ by at most a tenth of a logit in mean difficulty, and
// little in information where they decide.
func TestFormsAreAsHardAsEachOther(t *testing.T) {
	for seed := range uint64(50) {
		r := rand.New(rand.NewPCG(seed, 0))
		var items []skill.FormItem
		for i := range 4 * 60 {
			items = append(items, skill.FormItem{Category: fmt.Sprint(i % 4), Difficulty: 1.2 * r.NormFloat64()})
		}
		forms, err := skill.Forms(r, items, 3)
		if err != nil {
			t.Fatal(err)
		}
		var means, informations [3]float64
		seen := map[int]bool{}
		for f, form := range forms {
			count := map[string]int{}
			for _, i := range form {
				if seen[i] {
					t.Fatalf("item %d twice", i)
				}
				seen[i] = true
				count[items[i].Category]++
				means[f] += items[i].Difficulty / float64(len(form))
				informations[f] += skill.RaschInformation(-items[i].Difficulty, .5)
			}
			for category, n := range count {
				if n != 20 {
					t.Errorf("form %d has %d items of category %s", f, n, category)
				}
			}
		}
		for f := range 2 {
			within(t, "mean difficulty", means[f+1], means[0], .1)
			within(t, "information", informations[f+1]/informations[0], 1, .06)
		}
	}
	if _, err := skill.Forms(nil, nil, 0); err == nil {
		t.Error("no forms were made")
	}
}

// Loops drawn from the model: the shrunk offsets err less than both none and
// the unshrunk, and are 0 before the first answer.
func TestMaterialOffsets(t *testing.T) {
	form := skill.WeibullDB(.5)
	listener := skill.Triple{Threshold: -20, Slope: 3, Lapse: .02}
	r := rand.New(rand.NewPCG(2, 3))
	var none, shrunk float64
	const loops = 300
	for range loops {
		offset := r.NormFloat64()
		m := skill.NewMaterial(.5, skill.DefaultMaterialSpreadDB)
		if m.OffsetDB() != 0 {
			t.Fatalf("an unheard loop is off by %g dB", m.OffsetDB())
		}
		for range 40 {
			level := -18.5 + 4*(r.Float64()-.5)
			m.Update(level, r.Float64() < form(level, listener.Threshold+offset, listener.Slope, listener.Lapse), listener)
		}
		none += offset * offset / loops
		shrunk += (m.OffsetDB() - offset) * (m.OffsetDB() - offset) / loops
	}
	if shrunk > .6*none {
		t.Errorf("mean square error %.3f dB² with offsets, %.3f without", shrunk, none)
	}
}
