package fault_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"strop/content/demo"
	"strop/content/mp3"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
	"strop/dsp/dsptest"
)

// material is a sound on which faults are tried.
type material struct {
	name   string
	rateHz float64
	frames []dsp.Frame
}

// loopS is how long each material is.
const loopS = 8

// with is the material with a fault, and the fault.
func (m material) with(t *testing.T, spec dsp.Spec, set dsp.Setting) ([]dsp.Frame, dsp.Processor) {
	t.Helper()
	p, err := spec.New(m.rateHz, set)
	if err != nil {
		t.Fatal(err)
	}
	buf := append([]dsp.Frame(nil), m.frames...)
	p.Process(buf)
	return buf, p
}

// materials are test music, four stems and the rough mix of a demo song, and a
// real recording.
func materials(t *testing.T) []material {
	t.Helper()
	demos, err := demoMaterials()
	if err != nil {
		t.Fatal(err)
	}
	// Made for 45.9 kHz, its tempo is 125.5: at 120, the multiples of the beat
	// would be those of the mains.
	all := append([]material{{"test music", 48000, dsptest.Music(45900, 1, loopS*48000)}}, demos...)
	return append(all, recording(t, "classic.mp3", 10))
}

var demoMaterials = sync.OnceValues(func() (all []material, err error) {
	r, err := smallhours()
	if err != nil {
		return nil, err
	}
	mix, err := r.Rough()
	if err != nil {
		return nil, err
	}
	const from, n = 5 * 48000, loopS * 48000
	for _, want := range []string{"Lead Vox", "OH L", "Bass DI", "Nylon L"} {
		for i := range r.Stems {
			if r.Stems[i].Name == want {
				all = append(all, material{want, r.RateHz, read(r.Stems[i].Open(), from, n)})
			}
		}
	}
	all = append(all, material{"mix", r.RateHz, mix[from:][:n]})
	if len(all) != 5 {
		return nil, fmt.Errorf("only %d of the materials were found", len(all))
	}
	return all, nil
})

// smallhours is that song, rendered once for all tests.
var smallhours = sync.OnceValues(func() (*demo.Rendered, error) { return render("smallhours") })

func render(name string) (*demo.Rendered, error) {
	song, err := demo.FindSong(name)
	if err != nil {
		return nil, err
	}
	return song.Render(context.Background(), song.Seed, nil)
}

// source is what decoders and stems have in common.
type source interface {
	Stream(buf [][2]float64) (n int, ok bool)
}

// read is n frames of src, after those before from.
func read(src source, from, n int) []dsp.Frame {
	buf, at := make([]dsp.Frame, from+n), 0
	for at < len(buf) {
		got, ok := src.Stream(buf[at:])
		at += got
		if !ok {
			break
		}
	}
	return buf[from:at]
}

// recording is a loop of a real recording that a module brings along.
func recording(t *testing.T, name string, fromS float64) material {
	t.Helper()
	path := filepath.Join(pcmtest.ModuleDir(t, "github.com/hajimehoshi/go-mp3"), "example", name)
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	src, err := mp3.Open(f)
	if err != nil {
		t.Fatal(err)
	}
	rateHz := src.Format().RateHz
	return material{name, rateHz, read(src, int(fromS*rateHz), int(loopS*rateHz))}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.4f, want %.4f ±%g", what, got, want, tolerance)
	}
}
