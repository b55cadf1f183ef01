package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"math"

	"strop/content"
	"strop/dsp"
	"strop/dsp/measure"
)

type measureCommand struct {
	File string `arg:"" help:"The file to measure."`
	JSON bool   `help:"Print as JSON." name:"json"`
}

// Run measures a file of any length in bounded memory. A mono file is measured
// as the one channel it is.
func (c *measureCommand) Run(env Env) error {
	file, err := content.Open(c.File)
	if err != nil {
		return err
	}
	defer file.Close()
	meter := measure.NewReporter(file.Format().RateHz, file.Format().Channels)
	if err := forEachBlock(file, meter.Process); err != nil {
		return err
	}
	if c.JSON {
		return printJSON(env.Stdout, meter.Report())
	}
	printReport(env.Stdout, meter.Report())
	return nil
}

// forEachBlock reads src to its end.
func forEachBlock(src *content.File, do func([]dsp.Frame)) error {
	buf := make([]dsp.Frame, 1<<15)
	for {
		n, ok := src.Stream(buf)
		do(buf[:n])
		if !ok {
			return src.Err()
		}
	}
}

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

func printReport(w io.Writer, r measure.Report) {
	row := func(name string, value measure.Level, unit string) {
		text := "none"
		if v := float64(value); !math.IsInf(v, 0) && !math.IsNaN(v) {
			text = fmt.Sprintf("%.2f %s", v, unit)
		}
		fmt.Fprintf(w, "%-24s %s\n", name, text)
	}
	fmt.Fprintf(w, "%-24s %.3f s, %g Hz, %d channel(s)\n", "length", r.DurationS, r.RateHz, r.Channels)
	row("integrated loudness", r.IntegratedLUFS, "LUFS")
	row("highest momentary", r.MaxMomentaryLUFS, "LUFS")
	row("highest short-term", r.MaxShortTermLUFS, "LUFS")
	row("loudness range", r.LoudnessRangeLU, "LU")
	row("true peak", r.TruePeakDBTP, "dBTP")
	row("sample peak", r.SamplePeakDBFS, "dBFS")
	row("correlation", measure.Level(r.Correlation), "")
	fmt.Fprintln(w, "third-octave bands, dB re a full-scale sine on both channels")
	for _, b := range r.ThirdOctaves {
		row("  "+dsp.FormatHz(b.NominalHz), b.LevelDB, "dB")
	}
}
