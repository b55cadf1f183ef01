package skill_test

import (
	"fmt"
	"math"
	"testing"

	"strop/drills/skill"
)

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.9g, want %.9g within %.1g", what, got, want, tolerance)
	}
}

// Shares right computed independently (SciPy) from the formulas in Macmillan
// & Creelman 2005, Green & Dai 1991 and Frijters et al. 1980, to four places.
func TestShareFromDPrime(t *testing.T) {
	columns := []skill.Task{skill.YesNo, skill.TwoAFC, skill.MAFC(3), skill.MAFC(4), skill.MAFC(5), skill.MAFC(8), skill.MAFC(10),
		skill.ABXDifferencing, skill.ABXIndependent, skill.SameDifferentDifferencing, skill.SameDifferentIndependent, skill.OddityDifferencing}
	for i, row := range [][12]float64{
		{.5000, .5000, .3333, .2500, .2000, .1250, .1000, .5000, .5000, .5000, .5000, .3333},
		{.5987, .6382, .4826, .3933, .3345, .2360, .1992, .5223, .5273, .5148, .5195, .3558},
		{.6915, .7602, .6337, .5520, .4937, .3855, .3409, .5825, .5997, .5558, .5733, .4180},
		{.7734, .8556, .7658, .7019, .6529, .5534, .5086, .6635, .6944, .6142, .6495, .5065},
		{.8413, .9214, .8658, .8228, .7878, .7110, .6736, .7468, .7877, .6797, .7330, .6048},
		{.8944, .9615, .9314, .9065, .8852, .8352, .8092, .8196, .8639, .7439, .8110, .6993},
		{.9332, .9831, .9688, .9564, .9453, .9177, .9025, .8765, .9185, .8017, .8753, .7814},
		{.9599, .9933, .9874, .9820, .9771, .9641, .9566, .9178, .9538, .8509, .9231, .8475},
		{.9772, .9977, .9955, .9935, .9916, .9864, .9832, .9467, .9750, .8909, .9555, .8977},
	} {
		d := 0.5 * float64(i)
		for j, want := range row {
			within(t, fmt.Sprintf("%s at d′ %g", columns[j].Name, d), columns[j].Correct(d), want, 1e-4)
		}
	}
}

// d′ of m-AFC in the layout of M. J. Hacker & R. Ratcliff, A revised table of
// d′ for M-alternative forced choice, Perception & Psychophysics 26 (1979);
// the values computed independently to three places.
func TestDPrimeFromShareOfChoices(t *testing.T) {
	choices := []int{2, 3, 4, 5, 6, 8, 10, 16}
	for share, row := range map[float64][8]float64{
		.30: {0, 0, .186, .383, .526, .727, .868, 1.132},
		.40: {0, .229, .522, .711, .849, 1.044, 1.181, 1.439},
		.50: {0, .557, .837, 1.019, 1.153, 1.342, 1.475, 1.726},
		.60: {.358, .885, 1.153, 1.329, 1.457, 1.641, 1.770, 2.015},
		.70: {.742, 1.238, 1.493, 1.661, 1.785, 1.962, 2.087, 2.326},
		.75: {.954, 1.434, 1.682, 1.846, 1.967, 2.141, 2.264, 2.498},
		.80: {1.190, 1.652, 1.893, 2.053, 2.171, 2.340, 2.461, 2.691},
		.85: {1.466, 1.908, 2.140, 2.294, 2.409, 2.574, 2.691, 2.917},
		.90: {1.812, 2.230, 2.452, 2.600, 2.710, 2.869, 2.983, 3.202},
		.95: {2.326, 2.710, 2.916, 3.055, 3.159, 3.310, 3.418, 3.628},
		.99: {3.290, 3.617, 3.797, 3.920, 4.012, 4.147, 4.246, 4.437},
	} {
		for i, want := range row {
			within(t, fmt.Sprintf("%d choices, %.2f right", choices[i], share), skill.MAFC(choices[i]).DPrime(share), want, 5.1e-4)
		}
	}
}

// Computed independently to three places.
func TestDPrimeFromShareOfComparisons(t *testing.T) {
	for _, c := range []struct {
		task skill.Task
		want [5]float64
	}{
		{skill.ABXDifferencing, [5]float64{1.115, 1.715, 2.020, 2.355, 3.263}},
		{skill.ABXIndependent, [5]float64{1.002, 1.529, 1.790, 2.073, 2.807}},
		{skill.OddityDifferencing, [5]float64{1.976, 2.504, 2.797, 3.129, 4.028}},
		{skill.SameDifferentIndependent, [5]float64{1.187, 1.802, 2.104, 2.425, 3.237}},
		{skill.SameDifferentDifferencing, [5]float64{1.387, 2.155, 2.550, 2.984, 4.132}},
	} {
		for i, share := range []float64{.60, .70, .75, .80, .90} {
			within(t, fmt.Sprintf("%s, %.2f right", c.task.Name, share), c.task.DPrime(share), c.want[i], 5.1e-4)
		}
	}
}

// The oddity table of Macmillan & Creelman, as printed in the tests of
// DetectionTheory.jl: three places, its differencing column good to 0.0016,
// the independent one confirmed to 0.001 by a simulation of the optimal rule.
func TestOddityTable(t *testing.T) {
	for d, want := range map[float64][2]float64{.5: {.356, .364}, 1: {.418, .446}, 1.5: {.507, .560}, 2: {.605, .677},
		2.5: {.700, .781}, 3: {.783, .862}, 4: {.898, .953}, 5: {.959, .987}} {
		within(t, fmt.Sprintf("differencing at d′ %g", d), skill.OddityDifferencing.Correct(d), want[0], 0.002)
		within(t, fmt.Sprintf("independent at d′ %g", d), skill.OddityIndependent.Correct(d), want[1], 0.0011)
	}
}

// Examples in the documentation of psyphy (d′ of ABX, m-AFC, oddity and
// same–different), the values computed independently.
func TestDPrimeExamples(t *testing.T) {
	abx := skill.Rates{Hit: .75, FalseAlarm: .30}
	within(t, "ABX differencing", skill.ABXDifferencing.DPrime(abx.Unbiased()), 1.8687, 1e-4)
	within(t, "ABX independent", skill.ABXIndependent.DPrime(abx.Unbiased()), 1.6610, 1e-4)
	within(t, "same–different independent", skill.SameDifferentIndependent.DPrime(abx.Unbiased()), 1.9549, 1e-4)
	within(t, "same–different differencing", skill.Rates{Hit: .642, FalseAlarm: .30}.SameDifferentDPrime(), 1.9506, 1e-4)
	within(t, "4AFC", skill.MAFC(4).DPrime(.8), 1.8932, 1e-4)
	within(t, "oddity", skill.OddityDifferencing.DPrime(.8), 3.1286, 1e-4)
}

// Yes/no rates from the tests of DetectionTheory.jl.
func TestDPrimeFromRates(t *testing.T) {
	for r, want := range map[skill.Rates]float64{{Hit: .8, FalseAlarm: .4}: 1.095, {Hit: .32, FalseAlarm: .04}: 1.283, {Hit: .99, FalseAlarm: .01}: 4.65} {
		within(t, fmt.Sprintf("d′ of %v", r), r.DPrime(), want, 0.003)
	}
}

// Raw and log-linear (Hautus 1995) values computed independently; the first
// is from the tests of Psycho.jl: d′ −0.023, β 0.996.
func TestDPrimeFromCounts(t *testing.T) {
	mixed := skill.Counts{Hits: 6, Misses: 7, FalseAlarms: 8, CorrectRejections: 9}.Raw()
	within(t, "d′", mixed.DPrime(), -0.023, 6e-4)
	within(t, "β", mixed.LikelihoodRatio(), 0.996, 3e-3)
	within(t, "c", mixed.Criterion(), 0.085, 6e-4)
	undefined := math.NaN()
	for _, c := range []struct {
		counts    skill.Counts
		raw       [2]float64 // d′, c
		logLinear [4]float64 // H, F, d′, c
	}{
		{skill.Counts{Hits: 15, Misses: 5, FalseAlarms: 5, CorrectRejections: 15}, [2]float64{1.3490, 0}, [4]float64{.7381, .2619, 1.2750, 0}},
		{skill.Counts{Hits: 20, Misses: 5, FalseAlarms: 10, CorrectRejections: 15}, [2]float64{1.0950, -.2941}, [4]float64{.7885, .4038, 1.0445, -.2788}},
		{skill.Counts{Hits: 20, Misses: 0, FalseAlarms: 0, CorrectRejections: 20}, [2]float64{undefined, undefined}, [4]float64{.9762, .0238, 3.9615, 0}},
		{skill.Counts{Hits: 10, Misses: 0, FalseAlarms: 3, CorrectRejections: 7}, [2]float64{undefined, undefined}, [4]float64{.9545, .3182, 2.1634, -.6089}},
		{skill.Counts{Hits: 45, Misses: 5, FalseAlarms: 12, CorrectRejections: 38}, [2]float64{1.9879, -.2876}, [4]float64{.8922, .2451, 1.9281, -.2740}},
	} {
		raw, smooth := c.counts.Raw(), c.counts.LogLinear()
		for i, got := range []float64{smooth.Hit, smooth.FalseAlarm, smooth.DPrime(), smooth.Criterion()} {
			within(t, fmt.Sprintf("log-linear %v, value %d", c.counts, i), got, c.logLinear[i], 6e-5)
		}
		if math.IsNaN(c.raw[0]) {
			if d := raw.DPrime(); !math.IsInf(d, 1) {
				t.Errorf("%v: raw d′ %g is not infinite", c.counts, d)
			}
			continue
		}
		within(t, "raw d′", raw.DPrime(), c.raw[0], 6e-5)
		within(t, "raw c", raw.Criterion(), c.raw[1], 6e-5)
	}
}

func TestEveryTask(t *testing.T) {
	for _, task := range skill.Tasks() {
		t.Run(task.Name, func(t *testing.T) {
			within(t, "share at d′ 0", task.Correct(0), task.Chance, 1e-9)
			before := task.Chance
			for d := 0.25; d <= 6; d += 0.25 {
				share := task.Correct(d)
				if share <= before || share > 1 {
					t.Fatalf("share %.6f at d′ %g after %.6f", share, d, before)
				}
				within(t, "and back", task.DPrime(share), d, 1e-6)
				before = share
			}
			if d := task.DPrime(task.Chance / 2); d != 0 {
				t.Errorf("below chance d′ is %g", d)
			}
			if !math.IsInf(task.DPrime(1), 1) || !math.IsNaN(task.DPrime(1.01)) || !math.IsNaN(task.DPrime(math.NaN())) {
				t.Error("1 is infinite, beyond is no share")
			}
		})
	}
}

func ExampleTask() {
	d := skill.TwoAFC.DPrime(0.85)
	fmt.Printf("85 %% of two is d′ %.2f: %.0f %% of four\n", d, 100*skill.MAFC(4).Correct(d))
	// Output: 85 % of two is d′ 1.47: 69 % of four
}
