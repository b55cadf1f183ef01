package practice

import (
	"fmt"
	"strings"
)

// Text is a threshold on the drill's ladder or, where that is not known, in dB
// of excitation, with what it lies in: "2.1 (1.6 to 2.9) dB". It is "" where
// nothing is known.
func (t Threshold) Text() string {
	e, unit := t.Level, t.Unit
	if e == nil {
		e, unit = t.Audible, "dB of excitation"
	}
	if e == nil {
		return ""
	}
	text := strings.TrimSpace(fmt.Sprintf("%.2g (%.2g to %.2g) %s", e.Value, e.Interval.Lo, e.Interval.Hi, unit))
	if t.Beyond != "" {
		text += ", perhaps " + t.Beyond + " than can be asked"
	}
	return text
}

// Text is a trend as a phrase: "no real change yet".
func (t Trend) Text() string {
	switch {
	case t.Change != "":
		return t.Change
	case t.Missing > 0:
		return fmt.Sprintf("%d more answers needed", t.Missing)
	}
	return ""
}

// ConfusedText names what was most often said instead: "400 Hz 3 times".
func (r Report) ConfusedText() string {
	var words []string
	for i, m := range r.Confused {
		if i < 2 {
			words = append(words, fmt.Sprintf("%s %s", m.Named, timesText(m.Count)))
		}
	}
	return strings.Join(words, ", ")
}

func timesText(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// Text is a lean of the answers: "0.42 (0.31 to 0.53) oct high", with its 95 %
// interval. It is "" where nothing is known, or the interval holds 0.
func (b *Bias) Text() string {
	switch {
	case b == nil || b.Mean.Interval.Lo <= 0 && b.Mean.Interval.Hi >= 0:
		return ""
	case b.Mean.Mean > 0:
		return fmt.Sprintf("%.2g (%.2g to %.2g) %s high", b.Mean.Mean, b.Mean.Interval.Lo, b.Mean.Interval.Hi, b.Unit)
	}
	return fmt.Sprintf("%.2g (%.2g to %.2g) %s low", -b.Mean.Mean, -b.Mean.Interval.Hi, -b.Mean.Interval.Lo, b.Unit)
}

// KeptText is what was kept of a skill over days without practice: "5 of 6
// after up to 10 days". It is "" where no review was taken.
func (r Report) KeptText() string {
	var words []string
	for _, k := range r.Retention {
		text := fmt.Sprintf("%d of %d after longer", k.Right, k.Of)
		if k.UpToDays != nil {
			text = fmt.Sprintf("%d of %d after up to %s", k.Right, k.Of, daysText(*k.UpToDays))
		}
		words = append(words, text)
	}
	return strings.Join(words, ", ")
}

func daysText(days float64) string {
	if days == 1 {
		return "a day"
	}
	return fmt.Sprintf("%g days", days)
}
