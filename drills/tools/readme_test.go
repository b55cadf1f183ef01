package tools_test

import (
	"cmp"
	"flag"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"strop/drills"
	"strop/drills/tools"
	"strop/dsp"
)

var update = flag.Bool("update", false, "write README.md anew")

// README.md lists the table as it is.
func TestREADME(t *testing.T) {
	const file = "README.md"
	want := page(tools.All())
	if *update {
		if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s is not what the table says; go test ./drills/tools -run README -update writes it anew", file)
	}
}

// A tool type stands in one piece, and has one of the words of the trade.
func TestTypes(t *testing.T) {
	known := strings.Fields("source level position EQ dynamics space phase saturation tuning timing mix")
	left := map[string]bool{}
	last := ""
	for _, tool := range tools.All() {
		if left[tool.Type] {
			t.Errorf("%s: drills of %s stand at two places of the table", tool.ID, tool.Type)
		}
		if tool.Type != last && last != "" {
			left[last] = true
		}
		last = tool.Type
		if !strings.Contains(" "+strings.Join(known, " ")+" ", " "+tool.Type+" ") {
			t.Errorf("%s: %q is no tool type; there are %v", tool.ID, tool.Type, known)
		}
	}
}

const intro = `# The drills

%d drills, in the order of mixing. Each is one file of this folder and one row of
its table. ` + "`strop text --drill ID`" + ` asks one of them; the window asks all.

- **On**: the material on which it is asked. A change to a stem is heard in the
  whole mix, unless only the stem is listened to. A loop that cannot show it is
  not asked.
- **Ladder**: what makes it hard, from the easy end over where a newcomer
  starts to the hard end.
- **Hard end**: what that end is set by. ` + "`excitation`" + `: about 1 dB of
  excitation changes there, the least that is usually heard. ` + "`published threshold`" + `:
  it is once or twice the least difference that was published. ` + "`kinds`" + `: kinds
  are told apart that have no size.
- **Answer**: the ways to answer, from easy to hard. ` + "`(nothing)`" + `: some
  trials change nothing, and that is an answer.
- **Error**: the unit in which an answer is off. ` + "`of 1`" + `: right or wrong.
- **Source**: where the hard end of the ladder comes from.

Do not edit this page: ` + "`go test ./drills/tools -run README -update`" + ` writes it from
the table.
`

// page is the whole of README.md.
func page(all []drills.Tool) string {
	var b strings.Builder
	fmt.Fprintf(&b, intro, len(all))
	kind := ""
	for _, tool := range all {
		if tool.Type != kind {
			kind = tool.Type
			fmt.Fprintf(&b, "\n## %s\n\n", capital(kind))
			b.WriteString("| ID | Title | What is asked | On | Ladder | Hard end | Answer | Error | Source |\n|---|---|---|---|---|---|---|---|---|\n")
		}
		b.WriteString(row(tool))
	}
	return b.String()
}

func row(t drills.Tool) string {
	cells := []string{"`" + t.ID + "`", t.Title, t.Doc, material(t.Fit), ladder(t.Level), t.Floor.String(), ways(t), t.Unit, t.Source}
	for i, c := range cells {
		cells[i] = strings.ReplaceAll(c, "|", `\|`)
	}
	return "| " + strings.Join(cells, " | ") + " |\n"
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// ladder is "boost: 12 → 9 → 1.5 dB".
func ladder(p dsp.Param) string {
	number := func(v float64) string { return strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64) }
	return strings.TrimSpace(fmt.Sprintf("%s: %s → %s → %s %s", p.Name, number(p.Max), number(p.Neutral), number(p.Min), p.Unit))
}

func ways(t drills.Tool) string {
	titles := make([]string, len(t.Rungs))
	for i, r := range t.Rungs {
		titles[i] = r.Title
	}
	text := strings.Join(titles, "; ")
	if t.NothingShare > 0 {
		text += " (nothing)"
	}
	return text
}

// material is on what a drill is asked, in words.
func material(f drills.Fit) string {
	roles := make([]string, len(f.Roles))
	for i, r := range f.Roles {
		roles[i] = string(r)
	}
	stem := cmp.Or(strings.Join(roles, ", "), "a stem")
	if f.Among {
		stem += ", among others"
	}
	text := stem
	switch {
	case f.Stems && f.Mix:
		text += "; else the mix"
	case f.Mix:
		text = "the mix"
	}
	if f.Pair {
		text += "; one of two microphones"
	}
	for _, need := range []struct {
		least float64
		words string
	}{
		{f.LeastOnsetsPerS, "with strokes"}, {f.LeastSustained, "that holds its level"}, {f.LeastGaps, "with gaps"},
		{f.LeastPitched, "of a pitch"}, {f.LeastSideDB, "in stereo"},
	} {
		if need.least != 0 {
			text += "; " + need.words
		}
	}
	return text
}
