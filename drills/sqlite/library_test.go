package sqlite_test

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"strop/drills/sqlite"
)

// What is kept of a material comes back from another handle, each word by
// itself, and nil keeps nothing.
func TestKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	db := open(t, path)
	type fader struct{ GainDB, Pan float64 }
	faders := map[string]fader{"Kick 🥁": {-3.5, 0}, "Stimme": {0, -0.25}}
	must(t, db.Keep(t.Context(), "h1", "faders", map[string]fader{"old": {}}))
	must(t, db.Keep(t.Context(), "h1", "faders", faders))
	must(t, db.Keep(t.Context(), "h1", "roles", map[string]string{"Kick": "kick"}))
	got := map[string]fader{}
	if ok, err := open(t, path).Kept(t.Context(), "h1", "faders", &got); !ok || err != nil || cmp.Diff(faders, got) != "" {
		t.Errorf("%v %v %s", ok, err, cmp.Diff(faders, got))
	}
	for _, other := range [][2]string{{"h2", "faders"}, {"h1", "loops"}} {
		if ok, err := db.Kept(t.Context(), other[0], other[1], &got); ok || err != nil {
			t.Errorf("%v: %v %v", other, ok, err)
		}
	}
	must(t, db.Keep(t.Context(), "h1", "faders", nil))
	if ok, err := db.Kept(t.Context(), "h1", "faders", &got); ok || err != nil {
		t.Errorf("after nil: %v %v", ok, err)
	}
	var number int
	if _, err := db.Kept(t.Context(), "h1", "roles", &number); err == nil || !strings.Contains(err.Error(), "roles") {
		t.Errorf("what cannot be read: %v", err)
	}
	if err := db.Keep(t.Context(), "h1", "loops", func() {}); err == nil {
		t.Error("a function was kept")
	}
}

// Labels are set as a whole, and found by material and by name.
func TestLabels(t *testing.T) {
	db := open(t, filepath.Join(t.TempDir(), "history.db"))
	loud, live, monday := sqlite.Label{Kind: sqlite.Tag, Name: "loud"}, sqlite.Label{Kind: sqlite.Tag, Name: "live"}, sqlite.Label{Kind: sqlite.Collection, Name: "monday"}
	must(t, db.SetLabels(t.Context(), "h1", []sqlite.Label{loud}))
	must(t, db.SetLabels(t.Context(), "h1", []sqlite.Label{live, monday, live}))
	must(t, db.SetLabels(t.Context(), "h2", []sqlite.Label{monday}))
	got, err := db.Labels(t.Context())
	want := map[string][]sqlite.Label{"h1": {monday, live}, "h2": {monday}}
	if err != nil || cmp.Diff(want, got) != "" {
		t.Errorf("%v %s", err, cmp.Diff(want, got))
	}
	if names := sqlite.NamesOf(sqlite.Collection, got); cmp.Diff([]string{"monday"}, names) != "" {
		t.Errorf("collections: %v", names)
	}
}

// Forgetting a material forgets all that hangs on it, and no answer.
func TestForgetMaterial(t *testing.T) {
	db := open(t, filepath.Join(t.TempDir(), "history.db"))
	for _, hash := range []string{"h1", "h2"} {
		must(t, db.RememberMaterial(t.Context(), sqlite.Material{Hash: hash, Title: hash, LastUsed: time.Unix(5, 0)}))
		must(t, db.Keep(t.Context(), hash, "roles", 1))
		must(t, db.SetLabels(t.Context(), hash, []sqlite.Label{{Kind: sqlite.Tag, Name: "loud"}}))
	}
	r := record(1)
	r.Trial.Loop.Material = "h1"
	must(t, db.Append(t.Context(), r))
	must(t, db.ForgetMaterial(t.Context(), "h1"))
	must(t, db.ForgetMaterial(t.Context(), "never known"))
	all, err := db.Materials(t.Context())
	must(t, err)
	labels, err := db.Labels(t.Context())
	must(t, err)
	var roles int
	ok, err := db.Kept(t.Context(), "h1", "roles", &roles)
	must(t, err)
	if len(all) != 1 || all[0].Hash != "h2" || len(labels) != 1 || ok {
		t.Errorf("left: %v %v %v", all, labels, ok)
	}
	if records, err := db.Records(t.Context(), ""); len(records) != 1 || err != nil {
		t.Errorf("%d answers are left, %v", len(records), err)
	}
}
