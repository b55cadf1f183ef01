package tools

import (
	"fmt"
	"math"
	"strings"

	"strop/drills"
	"strop/dsp"
)

// sourceFault is one thing that can be wrong with a recording, as the drills
// ask about it.
type sourceFault struct {
	id, title string
	name      string       // as an answer: "mains hum"
	source    string       // where the hard end of size comes from
	size      dsp.Param    // how strong: Max is plain, Min just there; its unit is the fault's own
	floor     drills.Floor // what the hard end of size is set by
	added     bool         // it is a sound of its own, which says nothing of the stem it is on
	brief     bool         // it comes in moments
	fit       drills.Fit   // what it happens to; the zero Fit: any stem, or the mix

	// make builds it for what it is put on; seed draws what is drawn.
	make func(rateHz float64, on put, size, seed float64) (dsp.Processor, error)
}

// put is what a fault is put on.
type put struct {
	lufs float64 // its loudness
	dbtp float64 // its peak
}

var faultSeed = dsp.Param{ID: "seed", Name: "seed", Min: 0, Max: 1 << 20, Neutral: 1, Scale: dsp.Whole}

// sourceFaults is the table of all. A record names a fault by its number in
// it, so that nothing is ever moved: new ones come last.
func sourceFaults() []sourceFault {
	return []sourceFault{
		humFault(), buzzFault(), hissFault(), rumbleFault(), clippingFault(), clicksFault(), dropoutFault(),
		combFault(), wowFault(), codecFault(), plosiveFault(), sibilanceFault(), distanceFault(), breathFault(),
	}
}

// onAnything is the Fit of faults that befall whatever was recorded.
var onAnything = drills.Fit{Mix: true, Stems: true}

func (f sourceFault) where() drills.Fit {
	if !f.fit.Mix && !f.fit.Stems {
		return onAnything
	}
	return f.fit
}

// build makes the fault on a stem or the mix; none for nothing.
func (f sourceFault) build(c drills.Clip, on int, size, seed float64) ([]drills.Insert, error) {
	facts := c.On(on)
	p, err := f.make(c.Loop.RateHz, put{facts.LoudnessLUFS, facts.TruePeakDBTP}, size, seed)
	return drills.OnStem(on, p), err
}

// say is a size in the fault's own unit.
func (f sourceFault) say(v float64) string {
	return strings.Replace(unit(decimalsFor(f.size), f.size.Unit)(v), " :1", ":1", 1)
}

// decimalsFor are as many as tell two steps of a parameter apart.
func decimalsFor(p dsp.Param) int {
	switch {
	case p.Max <= 2:
		return 2
	case p.Max <= 20:
		return 1
	}
	return 0
}

// faultNothing is how often there is no fault where one is asked about. Common
// practice, no source.
const faultNothing = 0.4

// faultDrill asks whether one kind of fault is there and, on the harder way to
// answer, how strong it is.
func faultDrill(f sourceFault) drills.Tool {
	answer := scale{
		param: f.size, key: "errorOf" + f.size.ID, near: 0.15 * (f.size.Max - f.size.Min), say: f.say,
		off: over(f.say, "too much", "too little"),
	}
	if f.size.Scale == dsp.Log {
		answer.key, answer.near = "errorOct", 0.5
		answer.apart = dsp.Octaves
		answer.off = over(func(oct float64) string { return dsp.OctavesInWords(oct) }, "too much", "too little")
	}
	return drills.Tool{
		ID: f.id, Title: f.title, Type: "source",
		Doc:    "Hear whether a recording has " + f.name + ", and how strongly.",
		Source: f.source, Confusable: []string{"fault-kind"},
		Error: answer.key, Unit: errorUnit(f.size),
		Level: f.size, Floor: f.floor, Brief: f.brief,
		Rungs:        []drills.Rung{{ID: "there", Title: "there or not", Surface: drills.Cards}, {ID: "size", Title: f.size.Name, Surface: drills.Ruler}},
		Params:       []dsp.Param{f.size, faultSeed},
		Fit:          f.where(),
		NothingShare: faultNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{f.size.ID: f.drawSize(d), faultSeed.ID: float64(d.R.IntN(int(faultSeed.Max)))}, nil
		},
		Choices: func(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface != drills.Cards {
				return nil, nil
			}
			return []drills.Choice{{Label: f.name, Guess: dsp.Setting{f.size.ID: asked.Get(f.size)}}}, nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			return f.build(c, on, s.Get(f.size), s.Get(faultSeed))
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			if d.Rung.Surface == drills.Cards {
				return fmt.Sprintf("Is there %s%s?", f.name, on(d))
			}
			return fmt.Sprintf("How strong is the %s%s?", f.name, on(d))
		},
		Read: answer.Read, Grade: answer.Grade,
		Tell: func(r drills.Rung, truth, guess dsp.Setting) string {
			if r.Surface == drills.Cards {
				return f.tellThere(truth, guess)
			}
			return answer.Tell(r, truth, guess)
		},
		Region: anywhere,
	}
}

// drawSize is the level itself or, where the size is asked, one between it and
// the easy end; from the middle, where the level lies above that.
func (f sourceFault) drawSize(d drills.Draw) float64 {
	if d.Rung.Surface == drills.Cards {
		return d.Level
	}
	return between(d, f.size, min(d.Level, f.size.At(0.5)), f.size.Max)
}

func (f sourceFault) tellThere(truth, guess dsp.Setting) string {
	heard := map[bool]string{true: ", as you said.", false: "; you said there was none."}
	if len(truth) == 0 {
		heard = map[bool]string{false: ", as you said.", true: "; you said there was."}
		return "There was no " + f.name + heard[len(guess) > 0]
	}
	return fmt.Sprintf("There was %s, %s %s%s", f.name, f.size.Name, f.say(truth.Get(f.size)), heard[len(guess) > 0])
}

func errorUnit(p dsp.Param) string {
	if p.Scale == dsp.Log {
		return "oct"
	}
	return p.Unit
}

// under declares a size that is a level, in dB, beside what it is put on.
func under(name string, hard, easy float64) dsp.Param {
	return dsp.Param{ID: "levelDB", Name: name, Unit: "dB", Min: hard, Max: easy, Neutral: math.Round(hard + 0.7*(easy-hard))}
}

// spread declares a size on a logarithmic scale.
func spread(id, name, unit string, hard, easy, start float64) dsp.Param {
	return dsp.Param{ID: id, Name: name, Unit: unit, Min: hard, Max: easy, Neutral: start, Scale: dsp.Log}
}

// limited keeps a level within what a processor can be set to.
func limited(v, lo, hi float64) float64 { return min(max(v, lo), hi) }
