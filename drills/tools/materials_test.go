package tools_test

import (
	"testing"

	"strop/drills"
	"strop/drills/drilltest"
)

// materials are the five clips that every drill is asked on.
func materials(t testing.TB) []drills.Clip {
	t.Helper()
	clips, err := drilltest.Songs()
	if err != nil {
		t.Fatal(err)
	}
	return clips
}
