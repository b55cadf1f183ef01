package progress

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"strop/drills"
	"strop/drills/skill"
)

// WriteText writes p for reading, by eye or aloud: no colour, no drawing, one
// row a line. Dates are in where.
func WriteText(w io.Writer, p Progress, where *time.Location) error {
	out := bufio.NewWriter(w)
	if p.Answers == 0 {
		fmt.Fprintln(out, "No answers yet.")
		return out.Flush()
	}
	for _, r := range p.Results {
		writeResult(out, r, where)
	}
	fmt.Fprintln(out, "Error: how far off, either way. Bias: + high, − low. In brackets: 95 % intervals.")
	return out.Flush()
}

func writeResult(w io.Writer, r Result, where *time.Location) {
	fmt.Fprintf(w, "%s; %s\n", r.Heading(), conditionInWords(r.Condition))
	fmt.Fprintf(w, "%s, the last on %s, half of them within %s s.\n",
		count(r.Answers, "answer"), r.LastAt.In(where).Format(time.DateOnly), number(r.MedianTookS))
	fmt.Fprintf(w, "Right where something was changed: %s.\n", shareInWords(r.Overall.Right))
	if r.Overall.Right.Of > 0 {
		fmt.Fprintf(w, "Changes not heard: %s.\n", shareInWords(r.Missed))
	}
	if r.FalseAlarms.Of > 0 {
		fmt.Fprintf(w, "Heard where nothing was changed: %s.\n", shareInWords(r.FalseAlarms))
	}
	if !r.Known {
		fmt.Fprintf(w, "The drill is not known to this strop: no errors are shown.\n\n")
		return
	}
	fmt.Fprintf(w, "Now at: %s %s.\n", r.Level.Name, withUnit(r.Level.Last, r.Level.Unit))
	if r.Overall.Missing > 0 {
		fmt.Fprintf(w, "For an error to be told, %s needed.\n", more(r.Overall.Missing))
	}
	for _, b := range r.Biases {
		fmt.Fprintf(w, "%s (%s, %s)\n", b.Text, intervalInWords(b.Mean.Interval, signed, r.Unit), count(b.Answers, "answer"))
	}
	fmt.Fprintln(w)
	writeTable(w, "Region", r.Unit, r.Regions, func(p Part) string { return strconv.Itoa(p.Missing) + " more needed" })
	writeTable(w, "Day", r.Unit, r.Days, func(Part) string { return "too few" })
}

func writeTable(w io.Writer, title, unit string, parts []Part, missing func(Part) string) {
	if len(parts) == 0 {
		return
	}
	row(w, title, "Answers", "Right", "Error, "+unit, "Bias, "+unit)
	for _, p := range parts {
		right := percent(p.Right)
		if p.Error == nil {
			row(w, p.Name, strconv.Itoa(p.Right.Of), right, missing(p), "")
			continue
		}
		row(w, p.Name, strconv.Itoa(p.Right.Of), right, meanInWords(p.Error.Size, number), meanInWords(p.Error.Bias, signed))
	}
	fmt.Fprintln(w)
}

// row writes cells in columns. fmt pads by characters, not bytes.
func row(w io.Writer, name, answers, right, size, bias string) {
	line := fmt.Sprintf("%-12s %8s  %-20s %-22s %s", name, answers, right, size, bias)
	fmt.Fprintln(w, strings.TrimRight(line, " "))
}

func conditionInWords(c drills.Condition) string {
	heard := c.Heard
	if heard == "mix" {
		heard = "in the mix"
	}
	transducer := c.Transducer
	if transducer == "unstated" {
		transducer = "headphones or loudspeakers unstated"
	}
	return transducer + ", " + heard
}

func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return strconv.Itoa(n) + " " + thing + "s"
}

func more(n int) string {
	if n == 1 {
		return "1 more answer is"
	}
	return strconv.Itoa(n) + " more answers are"
}

func shareInWords(s Share) string {
	if s.Of == 0 {
		return "none yet"
	}
	return fmt.Sprintf("%d of %d, %s", s.Count, s.Of, percent(s))
}

func percent(s Share) string {
	if s.Of == 0 {
		return "none yet"
	}
	return fmt.Sprintf("%.0f %% (%.0f to %.0f %%)", 100*float64(s.Count)/float64(s.Of), 100*s.Interval.Lo, 100*s.Interval.Hi)
}

func meanInWords(m skill.Mean, form func(float64) string) string {
	return form(m.Mean) + " (" + intervalInWords(m.Interval, form, "") + ")"
}

func intervalInWords(in skill.Interval, form func(float64) string, unit string) string {
	return strings.TrimSpace(form(in.Lo) + " to " + form(in.Hi) + " " + unit)
}

func withUnit(v float64, unit string) string { return strings.TrimSpace(number(v) + " " + unit) }

// WithUnit is a number as it is written everywhere: "0.33 oct".
func WithUnit(v float64, unit string) string { return withUnit(v, unit) }

// MeanText is a mean with its interval and unit: "0.42 (0.31 to 0.53) oct".
func MeanText(m skill.Mean, unit string) string {
	return strings.TrimSpace(meanInWords(m, number) + " " + unit)
}

// BiasText is MeanText for what has a side: "+0.42 (+0.31 to +0.53) oct".
func BiasText(m skill.Mean, unit string) string {
	return strings.TrimSpace(meanInWords(m, signed) + " " + unit)
}

// ShareText is a share with its interval: "78 % (55 to 91 %)".
func ShareText(s Share) string { return percent(s) }

// ConditionText is what a result holds for: "headphones, in the mix".
func ConditionText(c drills.Condition) string { return conditionInWords(c) }

// number is v to two decimals under 10, one under 100, none from there, with
// a true minus sign.
func number(v float64) string {
	decimals := 2
	switch size := math.Abs(v); {
	case size >= 99.95:
		decimals = 0
	case size >= 9.995:
		decimals = 1
	}
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return strings.Replace(text, "-", "−", 1)
}

// signed is number with a plus sign where there is no minus.
func signed(v float64) string {
	text := number(v)
	if strings.HasPrefix(text, "−") || strings.Trim(text, "0.") == "" {
		return text
	}
	return "+" + text
}
