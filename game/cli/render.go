package cli

import (
	"errors"
	"fmt"
	"math"
	"os"

	"strop/content"
	"strop/content/wav"
	"strop/dsp"
	"strop/dsp/measure"
	"strop/dsp/rack"
)

type renderCommand struct {
	In     string   `arg:"" help:"The file to change. It is only read."`
	Out    string   `arg:"" help:"The WAV file to write."`
	Change []string `help:"A processor and its setting, as in 'peak freqHz=1k gainDB=6 q=1'; several are applied in order." placeholder:"TEXT" sep:"none"`
	Match  bool     `help:"Bring the result to the loudness of the original."`
	Format string   `help:"Samples of the result: float32, float64, int16, int24 or int32." enum:"float32,float64,int16,int24,int32" default:"float32"`
}

var sampleFormats = map[string]wav.Sample{
	"float32": wav.Float32, "float64": wav.Float64, "int16": wav.Int16, "int24": wav.Int24, "int32": wav.Int32,
}

// Run renders a file through changes. The delay of the processors is taken
// back: the result starts where the original does and is as long.
func (c *renderCommand) Run(env Env) error {
	changes, err := c.changes()
	if err != nil {
		return usageError{err}
	}
	if sameFile(c.In, c.Out) {
		return usageError{errors.New("IN and OUT are the same file; strop never writes over material")}
	}
	frames, rateHz, err := readAll(c.In)
	if err != nil {
		return err
	}
	chain, err := rack.Build(rateHz, changes...)
	if err != nil {
		return usageError{err}
	}
	before := measure.IntegratedLUFS(frames, rateHz)
	frames = renderThrough(chain, frames)
	if c.Match {
		if err := matchLoudness(frames, rateHz, before); err != nil {
			return fmt.Errorf("%s: %w", c.In, err)
		}
	}
	return c.write(env, frames, rateHz)
}

func (c *renderCommand) changes() (changes []dsp.Change, err error) {
	for _, text := range c.Change {
		change, err := rack.Parse(text)
		if err != nil {
			return nil, err
		}
		if change.Where != "" {
			return nil, fmt.Errorf("a file has no stem %q; leave out where the change is made", change.Where)
		}
		changes = append(changes, change)
	}
	return changes, nil
}

func (c *renderCommand) write(env Env, frames []dsp.Frame, rateHz float64) error {
	over, err := writeWAV(c.Out, wav.WriteFormat{RateHz: rateHz, Channels: 2, Sample: sampleFormats[c.Format]}, frames)
	if err == nil && over > 0 {
		fmt.Fprintf(env.Stderr, "strop: %d samples were beyond full scale and were cut off; float32 keeps them\n", over)
	}
	return err
}

// renderThrough is frames after chain, its delay taken back.
func renderThrough(chain dsp.Chain, frames []dsp.Frame) []dsp.Frame {
	delay := chain.DelayFrames()
	out := append(frames, make([]dsp.Frame, delay)...)
	chain.Process(out)
	return out[delay:]
}

// matchLoudness brings frames to a loudness.
func matchLoudness(frames []dsp.Frame, rateHz, lufs float64) error {
	now := measure.IntegratedLUFS(frames, rateHz)
	if math.IsInf(now, 0) || math.IsInf(lufs, 0) {
		return errors.New("it is too quiet for its loudness to be matched")
	}
	dsp.Gain(dsp.FromDB(lufs - now)).Process(frames)
	return nil
}

// readAll is a whole file in memory.
func readAll(path string) (frames []dsp.Frame, rateHz float64, err error) {
	file, err := content.Open(path)
	if err != nil {
		return nil, 0, err
	}
	defer file.Close()
	err = forEachBlock(file, func(buf []dsp.Frame) { frames = append(frames, buf...) })
	return frames, file.Format().RateHz, err
}

func sameFile(a, b string) bool {
	infoA, errA := os.Stat(a)
	infoB, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(infoA, infoB)
}
