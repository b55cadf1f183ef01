package progress

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"io"
	"iter"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"strop/drills"
)

// csvColumns of an exported record, in order.
//
//	at                      time of the answer, UTC, RFC 3339
//	session, number         the sitting, and the trial in it, from 1
//	tool, rung              the drill and the way to answer
//	transducer, heard       the condition
//	seed                    of the trial's random source, 64 bits, decimal
//	level                   on the tool's ladder
//	material … rateHz       the loop: content hash, first frame, frames, sample rate
//	asked, truth, guess     settings, "gainDB=6 freqHz=1000" in the order of the IDs; empty: nothing changed
//	untouchedDB, changedDB  gains given to the two sides
//	residualLU              loudness of changed − untouched, as played
//	tookS, switches         from first sound to answer; how often the side was switched
//	right                   true or false
//	errors                  guess − truth, as settings are written
//	kind                    why it was asked; empty: to learn
//	stem, on, role          number of the stem, from 1, its name and what it is; 0: the whole mix
//	choices                 how many answers were offered, without "nothing"; 0: a scale
//	audibleDB               change of excitation that was asked about; 0: not measured
//	chance                  predicted chance of a right answer; 0: none was predicted
//	roveDB                  how much lower than usual it played
//	intent                  what was meant before a tool was touched, as settings are written
//	soloS                   listened alone, of tookS
var csvColumns = []string{
	"at", "session", "number", "tool", "rung", "transducer", "heard", "seed", "level",
	"material", "startFrame", "frames", "rateHz", "asked", "truth", "untouchedDB", "changedDB", "residualLU",
	"guess", "tookS", "switches", "right", "errors",
	"kind", "stem", "on", "role", "choices", "audibleDB", "chance", "roveDB", "intent", "soloS",
}

// ExportCSV writes records as CSV (RFC 4180), one a line under a line of
// column names: at, session, number, tool, rung, transducer, heard, seed,
// level, material, startFrame, frames, rateHz, asked, truth, untouchedDB,
// changedDB, residualLU, guess, tookS, switches, right, errors, kind, stem,
// on, role, choices, audibleDB, chance, roveDB, intent, soloS. Numbers are
// exact. It stops at the first error of records.
func ExportCSV(w io.Writer, records iter.Seq2[drills.Record, error]) error {
	out := csv.NewWriter(w)
	if err := out.Write(csvColumns); err != nil {
		return err
	}
	for r, err := range records {
		if err != nil {
			out.Flush()
			return err
		}
		if err := out.Write(csvRow(r)); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func csvRow(r drills.Record) []string {
	t, a := r.Trial, r.Answer
	return []string{
		r.At.UTC().Format(time.RFC3339Nano), t.Session, strconv.Itoa(t.Number), t.Tool, t.Rung,
		t.Condition.Transducer, t.Condition.Heard, strconv.FormatUint(t.Seed, 10), exact(t.Level),
		t.Loop.Material, strconv.Itoa(t.Loop.StartFrame), strconv.Itoa(t.Loop.Frames), exact(t.Loop.RateHz),
		exactSetting(t.Asked), exactSetting(t.Truth), exact(t.UntouchedDB), exact(t.ChangedDB), exact(t.ResidualLU),
		exactSetting(a.Guess), exact(a.TookS), strconv.Itoa(a.Switches), strconv.FormatBool(r.Score.Right),
		exactSetting(r.Score.Errors), string(t.Kind), strconv.Itoa(t.Stem), t.On, string(t.Role), strconv.Itoa(t.Choices),
		exact(t.AudibleDB), exact(t.Chance), exact(t.RoveDB), exactSetting(a.Intent), exact(a.SoloS),
	}
}

func exact(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func exactSetting(s map[string]float64) string {
	var words []string
	for _, id := range slices.Sorted(maps.Keys(s)) {
		words = append(words, id+"="+exact(s[id]))
	}
	return strings.Join(words, " ")
}

// ExportJSON writes records as a JSON array, one record a line, each as
// drills.Record declares it. It stops at the first error of records.
func ExportJSON(w io.Writer, records iter.Seq2[drills.Record, error]) error {
	out := bufio.NewWriter(w)
	out.WriteString("[")
	separator := "\n"
	for r, err := range records {
		if err != nil {
			out.Flush()
			return err
		}
		line, err := json.Marshal(r)
		if err != nil {
			return err
		}
		out.WriteString(separator)
		out.Write(line)
		separator = ",\n"
	}
	out.WriteString("\n]\n")
	return out.Flush()
}
