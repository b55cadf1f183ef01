package skill_test

import (
	"fmt"
	"math"
	"testing"

	"strop/drills/skill"
)

// Least number right for p ≤ .05, .01 and .001 of two choices with the exact
// tail, computed independently; −1: not even all right is enough.
func TestLeastRightOfTwoChoices(t *testing.T) {
	for _, c := range []struct {
		n     int
		least [3]int
		tail  [3]float64
	}{
		{5, [3]int{5, -1, -1}, [3]float64{.0312}}, {6, [3]int{6, -1, -1}, [3]float64{.0156}}, {7, [3]int{7, 7, -1}, [3]float64{.0078, .0078}},
		{8, [3]int{7, 8, -1}, [3]float64{.0352, .0039}}, {9, [3]int{8, 9, -1}, [3]float64{.0195, .0020}}, {10, [3]int{9, 10, 10}, [3]float64{.0107, .0010, .0010}},
		{11, [3]int{9, 10, 11}, [3]float64{.0327, .0059, .0005}}, {12, [3]int{10, 11, 12}, [3]float64{.0193, .0032, .0002}}, {14, [3]int{11, 12, 13}, [3]float64{.0287, .0065, .0009}},
		{15, [3]int{12, 13, 14}, [3]float64{.0176, .0037, .0005}}, {16, [3]int{12, 14, 15}, [3]float64{.0384, .0021, .0003}}, {18, [3]int{13, 15, 16}, [3]float64{.0481, .0038, .0007}},
		{20, [3]int{15, 16, 18}, [3]float64{.0207, .0059, .0002}}, {22, [3]int{16, 17, 19}, [3]float64{.0262, .0085, .0004}}, {25, [3]int{18, 19, 21}, [3]float64{.0216, .0073, .0005}},
		{30, [3]int{20, 22, 24}, [3]float64{.0494, .0081, .0007}}, {35, [3]int{23, 25, 27}, [3]float64{.0448, .0083, .0009}}, {40, [3]int{26, 28, 31}, [3]float64{.0403, .0083, .0003}},
		{50, [3]int{32, 34, 37}, [3]float64{.0325, .0077, .0005}}, {60, [3]int{37, 40, 43}, [3]float64{.0462, .0067, .0005}}, {80, [3]int{48, 51, 55}, [3]float64{.0465, .0092, .0005}},
		{100, [3]int{59, 63, 66}, [3]float64{.0443, .0060, .0009}},
	} {
		for i, alpha := range []float64{.05, .01, .001} {
			got, want := skill.LeastRight(c.n, .5, alpha), c.least[i]
			if want < 0 {
				want = c.n + 1
			}
			if got != want {
				t.Errorf("%d trials, %g: %d right, want %d", c.n, alpha, got, want)
			}
			if c.least[i] > 0 {
				within(t, fmt.Sprintf("tail of %d/%d", got, c.n), skill.Tail(got, c.n, .5), c.tail[i], 5.1e-5)
			}
		}
	}
}

// At other chance levels, n 20, 30, 50, at .05 and .01; computed independently.
func TestLeastRightOfMoreChoices(t *testing.T) {
	for chance, want := range map[float64][6]int{1. / 3: {11, 13, 15, 17, 23, 26}, 1. / 4: {9, 11, 13, 14, 19, 21}, 1. / 8: {6, 7, 8, 9, 11, 13}, .1: {5, 7, 7, 8, 10, 11}} {
		for i, n := range []int{20, 20, 30, 30, 50, 50} {
			if got := skill.LeastRight(n, chance, []float64{.05, .01}[i%2]); got != want[i] {
				t.Errorf("%d trials at chance %.3f: %d, want %d", n, chance, got, want[i])
			}
		}
	}
}

// Power of the .05 rule at .70, .80, .90 (then of the .01 rule where given),
// and trials for a power; computed independently.
func TestPower(t *testing.T) {
	for n, want := range map[int][6]float64{10: {.149, .376, .736, .028, .107, .349}, 16: {.450, .798, .983, .099, .352, .789},
		20: {.416, .804, .989}, 25: {.512, .891, .998}, 30: {.730, .974, 1}, 50: {.859, .997, 1}} {
		for i, w := range want {
			if w > 0 {
				within(t, fmt.Sprintf("power of %d trials, value %d", n, i), skill.Power(n, .5, []float64{.05, .01}[i/3], .7+.1*float64(i%3)), w, 6e-4)
			}
		}
	}
}

// Least trials from which 2AFC, 3AFC, 4AFC, 8AFC, yes/no, ABX (independent,
// differencing), triangle and same–different (differencing) keep a power of
// .8 at .05, one-sided; computed independently.
func TestTrialsForTasks(t *testing.T) {
	tasks := []skill.Task{skill.TwoAFC, skill.MAFC(3), skill.MAFC(4), skill.MAFC(8), skill.YesNo,
		skill.ABXIndependent, skill.ABXDifferencing, skill.OddityDifferencing, skill.SameDifferentDifferencing}
	for d, want := range map[float64][9]int{1: {26, 22, 19, 19, 47, 169, 241, 220, 521}, 1.5: {13, 9, 8, 9, 23, 47, 65, 57, 128}, 2: {8, 5, 6, 5, 16, 21, 28, 23, 56}} {
		for i, task := range tasks {
			if got := skill.TrialsFor(.8, task.Chance, .05, task.Correct(d), 700); got != want[i] {
				t.Errorf("%s at d′ %g: %d trials, want %d", task.Name, d, got, want[i])
			}
		}
	}
}

// Computed independently, uniform prior.
func TestShareAbove(t *testing.T) {
	for _, c := range []struct {
		k, n        int
		value, want float64
	}{{18, 20, .8, .8213}, {27, 30, .8, .8930}, {36, 40, .8, .9336}, {45, 50, .8, .9579}, {88, 100, .8, .9772}, {18, 20, .75, .9255}, {27, 30, .75, .9693}, {45, 50, .75, .9942}} {
		within(t, fmt.Sprintf("%d/%d above %g", c.k, c.n, c.value), skill.ShareAbove(c.value, c.k, c.n), c.want, 6e-5)
	}
}

func TestTailOfCertainties(t *testing.T) {
	for _, c := range []struct {
		k, n         int
		chance, want float64
	}{{0, 10, .3, 1}, {10, 10, 1, 1}, {1, 10, 0, 0}, {11, 10, .5, 0}} {
		if got := skill.Tail(c.k, c.n, c.chance); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%d of %d at %g: %g", c.k, c.n, c.chance, got)
		}
	}
}
