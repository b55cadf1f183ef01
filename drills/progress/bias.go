package progress

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"strop/drills"
	"strop/drills/skill"
	"strop/dsp"
)

// Bias is a lean to one side that chance does not explain, over neighbouring
// regions.
//
// It is told where the interval of the mean error excludes 0. So that many
// regions do not make a bias out of chance, that interval is widened to hold
// for all of them at once: confidence 1 − 5 %/m for m regions (C. E.
// Bonferroni, 1936; from memory). A region at the end of the answers offered,
// in which every miss falls to one side, leans without any bias of the
// listener's; it is told only beside one that has room on both.
type Bias struct {
	From    string     `json:"from"` // lowest region
	To      string     `json:"to"`   // highest region
	Answers int        `json:"answers"`
	Mean    skill.Mean `json:"mean"` // guess − truth, over all the answers
	Text    string     `json:"text"` // "You answer about a third of an octave high from 2 kHz up."
}

// biases looks through the regions, in order.
func (t *tally) biases(regions []string) []Bias {
	told := []Bias{}
	if len(regions) == 0 {
		return told
	}
	leans := t.leans(regions)
	for from := 0; from < len(regions); {
		to := from
		for to+1 < len(regions) && leans[to+1] == leans[from] {
			to++
		}
		if run := regions[from : to+1]; leans[from] != 0 && slices.ContainsFunc(run, t.hasRoom) {
			told = append(told, t.bias(run, placeInWords(regions, from, to)))
		}
		from = to + 1
	}
	return told
}

// leans is the direction of each region's bias: 1 high, -1 low, 0 not known.
func (t *tally) leans(regions []string) []int {
	m := 0
	for _, name := range regions {
		if len(t.regions[name].errors) >= Enough {
			m++
		}
	}
	leans := make([]int, len(regions))
	for i, name := range regions {
		errors := t.regions[name].errors
		if len(errors) < Enough {
			continue
		}
		switch in := skill.MeanOf(errors, 1-(1-Confidence)/float64(m)).Interval; {
		case in.Lo > 0:
			leans[i] = 1
		case in.Hi < 0:
			leans[i] = -1
		}
	}
	return leans
}

// hasRoom reports whether answers to a region's truths could miss on both
// sides. On a continuous scale they can.
func (t *tally) hasRoom(region string) bool {
	if len(t.rungDecl.Choices) == 0 {
		return true
	}
	above, below := false, false
	for _, truth := range t.regions[region].truths {
		for _, c := range t.rungDecl.Choices {
			e := t.toolDecl.Grade(t.rungDecl, truth, overlay(truth, c.Guess)).Errors[t.toolDecl.Error]
			above, below = above || e > 0, below || e < 0
		}
		if above && below {
			return true
		}
	}
	return false
}

// overlay is truth with what a choice decides.
func overlay(truth, choice dsp.Setting) dsp.Setting {
	for id, v := range choice {
		truth = truth.With(id, v)
	}
	return truth
}

func (t *tally) bias(run []string, place string) Bias {
	var errors []float64
	for _, name := range run {
		errors = append(errors, t.regions[name].errors...)
	}
	b := Bias{From: run[0], To: run[len(run)-1], Answers: len(errors), Mean: skill.MeanOf(errors, Confidence)}
	side := "high"
	if b.Mean.Mean < 0 {
		side = "low"
	}
	b.Text = fmt.Sprintf("You answer %s %s %s.", sizeInWords(b.Mean.Mean, t.toolDecl.Unit), side, place)
	return b
}

// placeInWords names the regions from one to another.
func placeInWords(regions []string, from, to int) string {
	switch last := len(regions) - 1; {
	case regions[from] == drills.Everywhere, from == 0 && to == last && last > 0:
		return "everywhere"
	case from == to:
		return "at " + regions[from]
	case to == last:
		return "from " + regions[from] + " up"
	case from == 0:
		return "up to " + regions[to]
	}
	return "from " + regions[from] + " to " + regions[to]
}

// sizeInWords says octaves as an engineer does, anything else in its unit.
func sizeInWords(size float64, unit string) string {
	if unit != "oct" {
		return "about " + number(math.Abs(size)) + " " + unit
	}
	words := dsp.OctavesInWords(size)
	if strings.HasPrefix(words, "less") {
		return words
	}
	return "about " + words
}
