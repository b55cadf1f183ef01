package desk_test

import (
	"os/exec"
	"strings"
	"testing"
)

// allowed is the way of the imports through the project: each package, or
// tree of packages, and what of ours it may import. A package that is not
// named may import anything; the two mains are where siblings meet.
var allowed = []struct {
	tree string
	may  []string
}{
	{"strop/dsp", nil},
	{"strop/dsp/eq", []string{"strop/dsp"}},
	{"strop/dsp/dynamics", []string{"strop/dsp", "strop/dsp/kaiser", "strop/dsp/taps"}},
	{"strop/dsp/stereo", []string{"strop/dsp", "strop/dsp/kaiser"}},
	{"strop/dsp/fault", []string{"strop/dsp", "strop/dsp/fourier", "strop/dsp/kaiser", "strop/dsp/taps"}},
	{"strop/dsp/fourier", nil},
	{"strop/dsp/kaiser", nil},
	{"strop/dsp/taps", nil},
	{"strop/dsp/saturation", []string{"strop/dsp", "strop/dsp/kaiser", "strop/dsp/taps"}},
	{"strop/dsp/yin", []string{"strop/dsp/fourier"}},
	{"strop/dsp/pitch", []string{"strop/dsp", "strop/dsp/fourier", "strop/dsp/kaiser", "strop/dsp/taps", "strop/dsp/yin"}},
	{"strop/dsp/space", []string{"strop/dsp", "strop/dsp/fourier", "strop/dsp/kaiser"}},
	{"strop/dsp/measure", []string{"strop/dsp", "strop/dsp/fourier", "strop/dsp/kaiser", "strop/dsp/taps", "strop/dsp/yin"}},
	{"strop/dsp/dsptest", []string{"strop/dsp"}},
	{"strop/dsp/rack", []string{"strop/dsp/..."}},
	{"strop/content/...", []string{"strop/dsp/...", "strop/content/..."}},
	{"strop/drills", []string{"strop/dsp/..."}},
	{"strop/drills/skill", nil},
	{"strop/drills/drilltest", []string{"strop/drills", "strop/dsp/...", "strop/content/..."}},
	{"strop/drills/tools", []string{"strop/drills", "strop/dsp/..."}},
	{"strop/drills/practice", []string{"strop/drills", "strop/drills/skill", "strop/dsp"}},
	{"strop/drills/sqlite", []string{"strop/drills", "strop/drills/exchange", "strop/dsp"}},
	{"strop/drills/exchange", []string{"strop/drills"}},
	{"strop/drills/progress", []string{"strop/drills", "strop/drills/skill", "strop/dsp"}},
	{"strop/game/ui/...", []string{"strop/game/ui/..."}},
	{"strop/game/prefs", nil},
	{"strop/game/scene", []string{"strop/drills", "strop/drills/progress", "strop/dsp", "strop/dsp/measure", "strop/game/player", "strop/game/prefs", "strop/game/ui"}},
	{"strop/game/player/...", []string{"strop/dsp/...", "strop/game/player/..."}},
}

// window is what draws the window, and ends a program that imports it where
// there is no display. Only one may.
const window, onlyIn = "github.com/hajimehoshi/ebiten/", "strop/game"

// The structure is held by a test: an import that the map does not allow
// fails here, with both ends named.
func TestImports(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", "{{.ImportPath}} {{join .Imports \" \"}}", "strop/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	packages := 0
	for line := range strings.Lines(string(out)) {
		path, imports, _ := strings.Cut(strings.TrimSpace(line), " ")
		packages++
		if strings.Contains(imports, window) && path != onlyIn {
			t.Errorf("%s imports %s, which only %s may", path, window, onlyIn)
		}
		for _, rule := range allowed {
			if !within(rule.tree, path) {
				continue
			}
			for imported := range strings.FieldsSeq(imports) {
				if strings.HasPrefix(imported, "strop/") && !withinAny(rule.may, imported) {
					t.Errorf("%s imports %s, which the map in DEVELOPERS.md does not allow", path, imported)
				}
			}
		}
	}
	if packages < len(allowed)/2 {
		t.Errorf("only %d packages were listed", packages)
	}
}

// within reports whether path is tree, or lies in it where tree ends in "/...".
func within(tree, path string) bool {
	root, all := strings.CutSuffix(tree, "/...")
	return path == root || all && strings.HasPrefix(path, root+"/")
}

func withinAny(trees []string, path string) bool {
	for _, tree := range trees {
		if within(tree, path) {
			return true
		}
	}
	return false
}
