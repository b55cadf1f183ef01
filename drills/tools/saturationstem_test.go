package tools_test

import (
	"slices"
	"testing"

	"strop/drills"
)

// The stem that is driven is the one that changed, and is among those offered.
func TestSaturationStem(t *testing.T) {
	drill := tool(t, "sat-stem")
	session := sitting(t, drill, drill.Rungs[0], 1, 3, 2)
	for range 3 {
		r, err := session.Next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Rung.Choices) != 3 || !slices.ContainsFunc(r.Rung.Choices, func(c drills.Choice) bool { return c.Label == r.Trial.On }) {
			t.Errorf("%s is not among %v", r.Trial.On, r.Rung.Choices)
		}
		inserts, err := drill.Change(r.Clip, r.Trial.Stem, r.Trial.Truth)
		if err != nil || len(inserts) != 1 || !slices.Equal(inserts[0].Stems, []int{r.Trial.Stem}) {
			t.Errorf("%s: changed are %v (%v)", r.Trial.On, inserts, err)
		}
		if _, err := session.Answer(t.Context(), drills.Given{Guess: r.Trial.Truth}); err != nil {
			t.Fatal(err)
		}
	}
}
