package scene

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// sentence is an error as a sentence: its first letter large unless it begins
// with the name of a file, a full stop.
func sentence(err error) string {
	text := strings.TrimSpace(strings.ReplaceAll(err.Error(), "\n", "; "))
	if !beginsWithName(text) {
		text = capital(text)
	}
	return text + "."
}

// beginsWithName reports whether one of the first words has a dot in it, as
// in "night bus.wav is silent".
func beginsWithName(text string) bool {
	for i, word := range strings.Fields(text) {
		if i < 6 && strings.Contains(strings.TrimRight(word, ".:,;"), ".") {
			return true
		}
	}
	return false
}

// capital is text with its first letter large.
func capital(text string) string {
	first, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[n:]
}

// clock is a time in a song: "2:07".
func clock(seconds float64) string {
	s := int(math.Round(seconds))
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// ago is a day as people say it: "today", "yesterday", "on Monday", "12 days
// ago".
func ago(then, now time.Time, where *time.Location) string {
	days := int(midnight(now, where).Sub(midnight(then, where)).Hours()/24 + 0.5)
	switch {
	case days <= 0:
		return "today"
	case days == 1:
		return "yesterday"
	case days < 7:
		return "on " + then.In(where).Weekday().String()
	}
	return strconv.Itoa(days) + " days ago"
}

func midnight(t time.Time, where *time.Location) time.Time {
	y, m, d := t.In(where).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// count is a number of things: "1 trial", "20 trials".
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return strconv.Itoa(n) + " " + thing + "s"
}

// hertz is a sample rate: "44.1 kHz".
func hertz(rateHz float64) string { return strconv.FormatFloat(rateHz/1000, 'g', 5, 64) + " kHz" }
