package desk_test

import (
	"slices"
	"testing"

	"strop/content"
	"strop/drills"
	"strop/drills/tools"
)

// A drill asks for roles in the words in which a material gives them: the two
// do not know each other, and this holds their words to be the same.
func TestRolesAreTheSameWords(t *testing.T) {
	asked := 0
	for _, tool := range tools.All() {
		for _, role := range tool.Fit.Roles {
			asked++
			if !slices.Contains(content.Roles, content.Role(role)) {
				t.Errorf("%s asks for %q, which no material has", tool.ID, role)
			}
		}
	}
	for _, role := range []drills.Role{drills.Kick, drills.DrumMachine, drills.RoomMic, drills.LeadVocal, drills.BackingVocal, drills.Speech} {
		if !slices.Contains(content.Roles, content.Role(role)) {
			t.Errorf("%q is no role of a material", role)
		}
	}
	if asked == 0 {
		t.Error("no drill asks for a role")
	}
}
