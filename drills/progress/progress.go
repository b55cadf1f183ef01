// Package progress says what records tell: a summary, and the same as text,
// as JSON and as a picture.
// Everything is recomputed from the records; nothing is stored.
package progress

import (
	"time"

	"strop/drills"
	"strop/drills/skill"
)

const (
	// Confidence of every interval.
	Confidence = 0.95
	// Enough is how many errors a mean is told from; with fewer, how many are
	// missing is told instead. Common practice, no source.
	Enough = 5
)

// Progress is a summary of records.
type Progress struct {
	Answers int      `json:"answers"`
	Results []Result `json:"results"` // in the order in which they were first practised
}

// Result is what one tool and one way to answer gave under one condition.
// Results are never pooled.
type Result struct {
	Tool        string           `json:"tool"`
	Title       string           `json:"title"` // the tool's, or its ID where it is not known
	Known       bool             `json:"known"` // the tool is one of this program's
	Rung        string           `json:"rung"`
	RungTitle   string           `json:"rungTitle"`
	Condition   drills.Condition `json:"condition"`
	Answers     int              `json:"answers"` // with a change and without
	LastAt      time.Time        `json:"lastAt"`
	MedianTookS float64          `json:"medianTookS"`
	Level       Level            `json:"level"`
	Overall     Part             `json:"overall"`
	Missed      Share            `json:"missed"`      // of the trials with a change: answered "nothing was changed"
	FalseAlarms Share            `json:"falseAlarms"` // of the trials without: answered with a change
	Unit        string           `json:"unit"`        // of every error and bias; "" where the tool is not known
	Regions     []Part           `json:"regions"`     // from low to high
	Days        []Part           `json:"days"`        // local dates, oldest first
	Biases      []Bias           `json:"biases"`
}

// Heading is what was asked and how it was answered: "EQ band, five bands".
func (r Result) Heading() string { return drills.TitleBy(r.Title, r.RungTitle) }

// Level is where the ladder stood at the last trial.
type Level struct {
	Last float64 `json:"last"`
	Name string  `json:"name"`
	Unit string  `json:"unit"`
}

// Part is a share of the trials with a change: a region, a day, or all.
type Part struct {
	Name    string `json:"name"`    // "1 kHz", "2026-05-04"; of all: ""
	Right   Share  `json:"right"`   // of the trials with a change
	Error   *Error `json:"error"`   // null where there are too few to tell
	Missing int    `json:"missing"` // answers that an error still needs
}

// Error is how far answers were from the truth, in the unit of the Result,
// over the trials in which both were a change.
type Error struct {
	Answers int        `json:"answers"`
	Size    skill.Mean `json:"size"` // of its absolute value, with Student's interval
	Bias    skill.Mean `json:"bias"` // guess − truth, with Student's interval
}

// Share is a count out of a number, and Wilson's interval of the share.
type Share struct {
	Count    int            `json:"count"`
	Of       int            `json:"of"`
	Interval skill.Interval `json:"interval"`
}

func newShare(count, of int) Share {
	return Share{count, of, skill.Wilson(count, of, Confidence)}
}
