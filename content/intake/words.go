package intake

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"strop/dsp/measure"
)

// From where on something is worth a sentence; the figure itself stands in the
// report in any case. Common practice, no source.
const (
	tellDCDBFS   = -60.0
	tellEdgeHz   = 5000.0
	tellApartS   = 0.01 // difference of two lengths
	tellEndsDBFS = -50.0
)

// notes are what stands out in a stem, a fact each.
func (f *finding) notes(rateHz, longestS float64) (notes []string) {
	say := func(yes bool, format string, args ...any) {
		if yes {
			notes = append(notes, fmt.Sprintf(format, args...))
		}
	}
	if f.frames == 0 {
		return nil
	}
	say(f.Silent(), "It is silent from end to end.")
	say(f.RateHz != rateHz, "Its rate is %g Hz; most stems have %g Hz.", f.RateHz, rateHz)
	say(longestS-f.DurationS > tellApartS, "It lasts %s; the longest stem lasts %s.", clock(f.DurationS), clock(longestS))
	say(f.Bits > 0 && f.BitsUsed > 0 && f.BitsUsed < f.Bits && !f.Silent(), "Its %d-bit samples hold %d bits.", f.Bits, f.BitsUsed)
	say(f.OneSignal, "Both channels hold the same.")
	say(f.oneSided, "One of its two channels is empty.")
	say(f.Correlation < -0.9, "Its channels cancel each other: their correlation is %.2f.", f.Correlation)
	say(f.Clipped.Count > 0, "It is clipped at %s in %s; %.2g %% of its samples.", level(f.RailDBFS, "dBFS"), f.Clipped.text("place"), f.ClippedPct)
	say(f.OverSamples > 0, "%d samples are above full scale, up to %s.", f.OverSamples, level(f.SamplePeakDBFS, "dBFS"))
	say(f.OverSamples == 0 && f.TruePeakDBTP > 0, "It is above full scale between samples: %s.", level(f.TruePeakDBTP, "dBTP"))
	say(f.Clicks.Count > 0, "It clicks in %s.", f.Clicks.text("place"))
	say(f.Dropouts.Count > 0, "It drops out in %s.", f.Dropouts.text("place"))
	say(f.DCDBFS > tellDCDBFS, "It has a DC offset of %.2g %% of full scale.", 100*math.Pow(10, float64(f.DCDBFS)/20))
	say(f.MainsHz > 0, "There is %s from the mains at %.2f Hz: %s.", f.mainsWord(), f.MainsHz, level(f.MainsDBFS, "dBFS"))
	say(f.BandEdgeHz >= tellEdgeHz, "It ends at %.1f kHz, as a lossy codec or a lower rate leaves it.", f.BandEdgeHz/1000)
	say(f.HeadDBFS > tellEndsDBFS, "It sounds from its first frame on: %s in the first 5 ms.", level(f.HeadDBFS, "dBFS"))
	say(f.TailDBFS > tellEndsDBFS, "It sounds up to its last frame: %s in the last 5 ms.", level(f.TailDBFS, "dBFS"))
	return notes
}

func (f *finding) mainsWord() string {
	if f.Buzz {
		return "buzz"
	}
	return "hum"
}

// text is "3 places, the first at 0:12.34".
func (p Places) text(thing string) string {
	switch p.Count {
	case 0:
		return "no " + thing
	case 1:
		return "1 " + thing + ", at " + clock(p.AtS[0])
	}
	return fmt.Sprintf("%d %ss, the first at %s", p.Count, thing, clock(p.AtS[0]))
}

// Text is the pair as a sentence.
func (p Pair) Text() string {
	if !p.Found() {
		return fmt.Sprintf("%s to %s: no common delay was found.", p.Other, p.First)
	}
	polarity := "the same polarity"
	if p.Inverted {
		polarity = "opposite polarity"
	}
	return fmt.Sprintf("%s to %s: %+.2f ms (%+.0f cm), %s, in %d of %d places; together %s over the sum of their powers.",
		p.Other, p.First, p.DelayMS, p.DistanceCM, polarity, p.Agree, p.Of, level(p.SumDB, "dB"))
}

// Text is it as a sentence.
func (a Alike) Text() string {
	if a.Exact {
		return fmt.Sprintf("%s holds the same as %s, to the bit.", a.Other, a.First)
	}
	text := fmt.Sprintf("%s holds the same as %s at %+.1f dB", a.Other, a.First, a.GainDB)
	if a.Inverted {
		text += ", its polarity turned over"
	}
	return text + "."
}

// Text is "+12 cents, spread 9".
func (t *Tuning) Text() string {
	if t == nil {
		return ""
	}
	return fmt.Sprintf("%+.0f ± %.0f ct", t.MeanCents, t.SpreadCents)
}

// Text is "+4 ± 9 ms".
func (t *Timing) Text() string {
	if t == nil {
		return ""
	}
	return fmt.Sprintf("%+.0f ± %.0f ms", t.MedianMS, t.SpreadMS)
}

// Depth is "24", "16 in 24", "float" or "".
func (s Stem) Depth() string {
	switch {
	case s.Bits == 0:
		return ""
	case s.BitsUsed == 0:
		return fmt.Sprintf("%d float", s.Bits)
	case s.BitsUsed < s.Bits && !s.Silent():
		return fmt.Sprintf("%d in %d", s.BitsUsed, s.Bits)
	}
	return fmt.Sprint(s.Bits)
}

// Headings are those of Cells.
func Headings() []string {
	return []string{"stem", "role", "ch", "kHz", "bits", "length", "peak dBTP", "LUFS", "floor dBFS", "silent", "tuning", "timing"}
}

// Cells are the stem as a row of a table.
func (s Stem) Cells() []string {
	return []string{
		s.Name, string(s.Role), fmt.Sprint(s.Channels), fmt.Sprintf("%g", s.RateHz/1000), s.Depth(), clock(s.DurationS),
		figure(s.TruePeakDBTP), figure(s.IntegratedLUFS), figure(s.FloorDBFS), fmt.Sprintf("%.0f %%", s.SilentPct), s.Tuning.Text(), s.Timing.Text(),
	}
}

// Sentences are everything that stands out, that of a stem after its name.
func (r Report) Sentences() (all []string) {
	all = append(all, r.Notes...)
	for _, s := range r.Stems {
		for _, note := range s.Notes {
			all = append(all, s.Name+": "+note)
		}
	}
	for _, p := range r.Pairs {
		all = append(all, p.Text())
	}
	for _, a := range r.Alike {
		all = append(all, a.Text())
	}
	return all
}

// WriteText writes a report to be read: the table, then the sentences.
func (r Report) WriteText(w io.Writer) error {
	fmt.Fprintf(w, "%s: %d stems, %s, %g Hz\n\n", r.Name, len(r.Stems), clock(r.DurationS), r.RateHz)
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, strings.Join(Headings(), "\t"))
	for _, s := range r.Stems {
		fmt.Fprintln(table, strings.Join(s.Cells(), "\t"))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w)
	for _, s := range r.Sentences() {
		fmt.Fprintln(w, s)
	}
	against := map[string]bool{}
	for _, s := range r.Stems {
		if s.Timing != nil {
			against[s.Timing.Against] = true
		}
	}
	for _, what := range []string{"beats", "drums"} {
		if against[what] {
			fmt.Fprintf(w, "Timing is against the %s; tuning against A = 440 Hz.\n", what)
		}
	}
	return nil
}

// level is a level with its unit, "−Inf" for nothing.
func level(l measure.Level, unit string) string { return figure(l) + " " + unit }

// figure is a level with its sign as it is printed, "none" where there is none.
func figure(l measure.Level) string {
	if math.IsInf(float64(l), 0) || math.IsNaN(float64(l)) {
		return "none"
	}
	return strings.Replace(fmt.Sprintf("%.1f", float64(l)), "-", "−", 1)
}

// clock is a time in a song: "0:12.34".
func clock(s float64) string {
	minutes := math.Floor(s / 60)
	return fmt.Sprintf("%.0f:%05.2f", minutes, math.Floor(100*(s-60*minutes))/100)
}

// sentence is an error as one.
func sentence(err error) string {
	return strings.ReplaceAll(err.Error(), "\n", "; ") + "."
}
