package library_test

import (
	"math"
	"testing"

	"strop/content"
	"strop/content/demo"
	"strop/content/library"
	"strop/dsp"
	"strop/dsp/measure"
)

func openDemo(t testing.TB, name string, cache demo.Cache) *content.Multitrack {
	t.Helper()
	song, err := demo.FindSong(name)
	if err != nil {
		t.Fatal(err)
	}
	m, err := library.OpenDemo(t.Context(), song, song.Seed, cache, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { m.Close() })
	return m
}

// A demo song is known before it is rendered: what stems it has, and what they
// play. Its mix is the rough mix of the renderer, and its stems add up to it.
func TestDemoSong(t *testing.T) {
	m := openDemo(t, "windowseat", demo.Cache{Dir: t.TempDir(), MaxBytes: 1 << 28})
	sheet := m.Sheet()
	if len(sheet.Stems) < 5 || sheet.Score.TempoBPM == 0 || len(sheet.Score.Sections) == 0 || sheet.Stems[0].RoleFrom != content.FromScore {
		t.Fatalf("before rendering the sheet is %+v", sheet)
	}
	clip, err := m.Clip(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	sum := make([]dsp.Frame, len(clip.Frames))
	playing := 0
	for i, s := range clip.Stems {
		frames, err := m.InMix(t.Context(), i, int64(clip.Loop.StartFrame), clip.Loop.Frames)
		if err != nil {
			t.Fatal(err)
		}
		for j, f := range frames {
			sum[j][0], sum[j][1] = sum[j][0]+f[0], sum[j][1]+f[1]
		}
		if !s.Fit.Silent() {
			playing++
			if diff := s.Fit.LoudnessLUFS - measure.IntegratedLUFS(frames, clip.Loop.RateHz); math.Abs(diff) > 0.01 {
				t.Errorf("%s: loudness is off by %.2f LU", s.Name, diff)
			}
		}
	}
	for j, f := range clip.Frames {
		if d := math.Abs(f[0]-sum[j][0]) + math.Abs(f[1]-sum[j][1]); d > 1e-6 {
			t.Fatalf("frame %d: the stems add up to %v, the mix is %v", j, sum[j], f)
		}
	}
	if playing < 3 || clip.Beats.TempoBPM != sheet.Score.TempoBPM {
		t.Errorf("%d stems play, beats are %+v", playing, clip.Beats)
	}
}
