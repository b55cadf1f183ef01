package exchange

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"strop/drills"
)

// columns of a record as CSV, in the order of cells. README.md says what they
// hold. New ones come at the end; the first firstColumns have been there from
// the beginning.
var columns = []string{
	"at", "session", "number", "tool", "rung", "transducer", "heard", "seed", "level",
	"material", "startFrame", "frames", "rateHz", "asked", "truth", "untouchedDB", "changedDB", "residualLU",
	"guess", "tookS", "switches", "right", "errors",
	"kind", "stem", "on", "role", "choices", "audibleDB", "chance", "roveDB", "intent", "soloS",
}

const firstColumns = 23

// cells are where the columns come from and go to.
func cells(r *drills.Record) []any {
	t, a := &r.Trial, &r.Answer
	return []any{
		&r.At, &t.Session, &t.Number, &t.Tool, &t.Rung, &t.Condition.Transducer, &t.Condition.Heard, &t.Seed, &t.Level,
		&t.Loop.Material, &t.Loop.StartFrame, &t.Loop.Frames, &t.Loop.RateHz,
		(*numbers)(&t.Asked), (*numbers)(&t.Truth), &t.UntouchedDB, &t.ChangedDB, &t.ResidualLU,
		(*numbers)(&a.Guess), &a.TookS, &a.Switches, &r.Score.Right, (*numbers)(&r.Score.Errors),
		(*string)(&t.Kind), &t.Stem, &t.On, (*string)(&t.Role), &t.Choices, &t.AudibleDB, &t.Chance, &t.RoveDB,
		(*numbers)(&a.Intent), &a.SoloS,
	}
}

// line is a record as it stands under the columns.
func line(r *drills.Record) (texts []string) {
	for _, c := range cells(r) {
		texts = append(texts, format(c))
	}
	return texts
}

func format(cell any) string {
	switch c := cell.(type) {
	case *time.Time:
		return c.UTC().Format(time.RFC3339Nano)
	case *string:
		return *c
	case *int:
		return strconv.Itoa(*c)
	case *uint64:
		return strconv.FormatUint(*c, 10)
	case *float64:
		return exact(*c)
	case *bool:
		return strconv.FormatBool(*c)
	case *numbers:
		return c.String()
	}
	panic(fmt.Sprintf("exchange: a column of %T", cell))
}

// placesOf says for each name which column it is; known is false where one is
// none.
func placesOf(names []string) (places []int, known bool) {
	for _, name := range names {
		place := slices.Index(columns, name)
		if place < 0 || slices.Contains(places, place) {
			return nil, false
		}
		places = append(places, place)
	}
	return places, true
}

// fill reads a line back into a record.
func fill(r *drills.Record, places []int, texts []string) error {
	into := cells(r)
	for i, place := range places {
		if err := parse(into[place], texts[i]); err != nil {
			return fmt.Errorf("%s holds %q", columns[place], texts[i][:min(len(texts[i]), 40)])
		}
	}
	return nil
}

// parse reads what format writes.
func parse(cell any, text string) (err error) {
	switch c := cell.(type) {
	case *time.Time:
		*c, err = time.Parse(time.RFC3339Nano, text)
	case *string:
		*c = strings.Clone(text) // not the whole line
	case *int:
		*c, err = strconv.Atoi(text)
	case *uint64:
		*c, err = strconv.ParseUint(text, 10, 64)
	case *float64:
		*c, err = strconv.ParseFloat(text, 64)
	case *bool:
		*c, err = strconv.ParseBool(text)
	case *numbers:
		*c, err = readNumbers(text)
	}
	return err
}

// numbers is a setting or the errors of an answer.
type numbers map[string]float64

// String is "gainDB=6 freqHz=1000" in the order of the IDs.
func (n numbers) String() string {
	var words []string
	for _, id := range slices.Sorted(maps.Keys(n)) {
		words = append(words, id+"="+exact(n[id]))
	}
	return strings.Join(words, " ")
}

// readNumbers reads what String writes: an empty one for "".
func readNumbers(text string) (numbers, error) {
	n := numbers{}
	for word := range strings.FieldsSeq(text) {
		id, value, found := strings.Cut(word, "=")
		v, err := strconv.ParseFloat(value, 64)
		if _, twice := n[id]; !found || err != nil || twice {
			return nil, errors.New("no setting")
		}
		n[strings.Clone(id)] = v
	}
	return n, nil
}

func exact(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
