package skill_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/drills/skill"
)

// tracker is what every tracker here is to a session.
type tracker interface {
	Level() float64
	Update(right bool)
}

// Ratios of the step up to the step down, Kaernbach 1991: p/(1−p).
func TestUpPerDown(t *testing.T) {
	for target, want := range map[float64]float64{0.707: 2.414, 0.75: 3, 0.794: 3.847, 0.80: 4, 0.85: 5.667, 0.90: 9} {
		if got := skill.UpPerDown(target); math.Abs(got-want) > 0.01 {
			t.Errorf("target %g: %.4f, want %.3f", target, got, want)
		}
	}
}

// follow answers 'C' right and 'W' wrong and returns the level before each.
func follow(s tracker, answers string) (levels []float64) {
	for _, a := range answers {
		levels = append(levels, s.Level())
		s.Update(a == 'C')
	}
	return levels
}

func near(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return math.Abs(x-y) < 1e-8 })
}

func TestUpDownSteps(t *testing.T) {
	s := skill.NewUpDown(skill.UpDownConfig{Start: 8, Min: 1, Max: 16, Target: 0.75, StepDown: 1.0 / 12})
	octaves := follow(s, "CCWCWC")
	for i, l := range octaves {
		octaves[i] = 12 * math.Log2(l/8)
	}
	// Steps of 4 before the first reversal, of 2 before the second, then of 1;
	// three times as far up as down.
	if want := []float64{0, -4, -8, -2, -3, 0}; !near(octaves, want) {
		t.Errorf("level moves by %v, want %v", octaves, want)
	}
	if s.Reversals() != 4 {
		t.Errorf("%d reversals, want 4", s.Reversals())
	}
}

func TestUpDownStaysOnItsLadder(t *testing.T) {
	for _, linear := range []bool{false, true} {
		s := skill.NewUpDown(skill.UpDownConfig{Start: 9, Min: 1.5, Max: 12, Target: 0.75, Linear: linear})
		for range 100 {
			s.Update(true)
		}
		if s.Level() != 1.5 {
			t.Errorf("after 100 right answers the level is %g, want the floor", s.Level())
		}
		for range 100 {
			s.Update(false)
		}
		if s.Level() != 12 {
			t.Errorf("after 100 wrong answers the level is %g, want the ceiling", s.Level())
		}
	}
}

func TestImpossibleLadders(t *testing.T) {
	for name, make := range map[string]func(){
		"log from 0":  func() { skill.NewUpDown(skill.UpDownConfig{Start: 1, Min: 0, Max: 2, Target: 0.75}) },
		"start above": func() { skill.NewUpDown(skill.UpDownConfig{Start: 3, Min: 1, Max: 2, Target: 0.75}) },
		"target 1":    func() { skill.NewUpDown(skill.UpDownConfig{Start: 1, Min: 1, Max: 2, Target: 1}) },
		"no steps":    func() { skill.NewNDown(skill.NDownConfig{Start: 1, Min: 1, Max: 2, N: 2}) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("was accepted")
				}
			}()
			make()
		})
	}
}

// Sequences of levels and reversals from the tests of PsychoPy's StairHandler.
func TestNDownAgainstPsychoPy(t *testing.T) {
	cycles := "CCCCWWWWCCCCWWWWCCCC"
	s := skill.NewNDown(skill.NDownConfig{Start: 0.8, Min: 0, Max: 1, N: 3, Steps: []float64{0.1, 0.01, 0.001}, Linear: true})
	want := []float64{.8, .7, .6, .5, .4, .41, .42, .43, .44, .44, .44, .439, .439, .44, .441, .442, .443, .443, .443, .442}
	if got := follow(s, cycles); !near(got, want) || s.Reversals() != 4 {
		t.Errorf("3 down, 1 up: %v, %d reversals", got, s.Reversals())
	}
	s = skill.NewNDown(skill.NDownConfig{Start: 0.8, Min: 0, Max: 1, N: 1, Steps: []float64{0.1}, Linear: true})
	want = []float64{.8, .7, .6, .7, .6, .5, .6, .5, .4, .5}
	if got := follow(s, "CCWCCWCCWC"); !near(got, want) || s.Reversals() != 6 {
		t.Errorf("1 down, 1 up: %v, %d reversals", got, s.Reversals())
	}
	dB := 1 / (20 * math.Log10(2)) // in octaves of amplitude
	s = skill.NewNDown(skill.NDownConfig{Start: 0.8, Min: 0.01, Max: 1, N: 3, Steps: []float64{.4 * dB, .2 * dB, .2 * dB, .1 * dB}})
	got := follow(s, cycles)
	want = []float64{.8, .763994069, .729608671, .696770872, .665411017, .680910431, .696770872, .713000751, .729608671}
	if !near(got[:9], want) || !near(got[15:17], []float64{.738057142, .746603441}) {
		t.Errorf("steps in dB: %v", got)
	}
}

// observer answers a two-interval forced choice by a Weibull function of the
// level in octaves: P(right) = 1−λ − (½−λ)·exp(−10^(β·x/20)) with x in dB.
type observer struct {
	r           *rand.Rand
	slope, miss float64
}

func (o observer) right(octaves float64) bool {
	return o.r.Float64() < 1-o.miss-(0.5-o.miss)*math.Exp(-math.Pow(10, o.slope*20*math.Log10(2)*octaves/20))
}

// shareRight lets an observer with threshold 1 answer n trials, after 200
// that do not count.
func shareRight(o observer, s tracker, n int) float64 {
	count := 0
	for i := range n + 200 {
		right := o.right(math.Log2(s.Level()))
		s.Update(right)
		if right && i >= 200 {
			count++
		}
	}
	return float64(count) / float64(n)
}

// Kaernbach 1991: at rest the share of right answers is the target.
func TestUpDownComesToRestAtItsTarget(t *testing.T) {
	for _, target := range []float64{0.65, 0.707, 0.75, 0.794, 0.85, 0.9} {
		for _, slope := range []float64{1.5, 3.5} {
			o := observer{rand.New(rand.NewPCG(7, 8)), slope, 0.02}
			s := skill.NewUpDown(skill.UpDownConfig{Start: 16, Min: 1.0 / 1024, Max: 1024, Target: target, StepDown: 0.05})
			if got := shareRight(o, s, 20000); math.Abs(got-target) > 0.01 {
				t.Errorf("target %g, slope %g: %.4f right", target, slope, got)
			}
		}
	}
}

// A sitting is short: 60 trials from a start three octaves too easy must
// bring the mean of many listeners to within 3 % of the target.
func TestUpDownConvergesWithinASitting(t *testing.T) {
	const listeners, target = 2000, 0.75
	right := 0
	for i := range listeners {
		o := observer{rand.New(rand.NewPCG(uint64(i), 1)), 2.5, 0.02}
		s := skill.NewUpDown(skill.UpDownConfig{Start: 8, Min: 1.0 / 64, Max: 16, Target: target})
		for range 60 {
			s.Update(o.right(math.Log2(s.Level())))
		}
		if o.right(math.Log2(s.Level())) {
			right++
		}
	}
	if got := float64(right) / listeners; math.Abs(got-target) > 0.03 {
		t.Errorf("the 61st trial is answered right by %.3f of the listeners, want %g", got, target)
	}
}

// García-Pérez 1998, abstract: where forced-choice staircases come to rest.
func TestNDownComesToRestWhereGarciaPerezSays(t *testing.T) {
	for i, c := range []struct{ downUp, want float64 }{{0.2845, 0.7785}, {0.5488, 0.8035}, {0.7393, 0.8315}, {0.8415, 0.8584}} {
		o := observer{rand.New(rand.NewPCG(3, 4)), 3.5, 0}
		s := skill.NewNDown(skill.NDownConfig{Start: 16, Min: 1.0 / 1024, Max: 1024, N: i + 1, Steps: []float64{0.3}, DownUp: c.downUp})
		if got := shareRight(o, s, 40000); math.Abs(got-c.want) > 0.015 {
			t.Errorf("%d down, ratio %g: %.4f right, want %g", i+1, c.downUp, got, c.want)
		}
	}
}

func ExampleUpDown() {
	s := skill.NewUpDown(skill.UpDownConfig{Start: 9, Min: 1.5, Max: 12, Target: 0.75})
	for _, right := range []bool{true, true, false, true} {
		fmt.Printf("%.1f dB, right: %v\n", s.Level(), right)
		s.Update(right)
	}
	fmt.Printf("%.1f dB\n", s.Level())
	// Output:
	// 9.0 dB, right: true
	// 6.9 dB, right: true
	// 5.4 dB, right: false
	// 7.9 dB, right: true
	// 7.4 dB
}
