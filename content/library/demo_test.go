package library_test

import (
	"context"
	"math"
	"slices"
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

// All nine songs are known without rendering any: every stem has a role of
// content and a source, microphones a distance, tuned parts notes in the key's
// range and voices their consonants, each within the song.
func TestEveryDemoSheet(t *testing.T) {
	songs, err := demo.Songs()
	if err != nil {
		t.Fatal(err)
	}
	notes, consonants, paired := 0, 0, 0
	for _, song := range songs {
		ctx, stop := context.WithCancel(t.Context())
		m, err := library.OpenDemo(ctx, song, song.Seed, demo.Cache{Dir: t.TempDir()}, nil)
		stop() // nothing is to be rendered
		if err != nil {
			t.Fatal(err)
		}
		sheet := m.Sheet()
		if sheet.Hash != song.Hash(song.Seed) || sheet.Score.Key == "" || len(sheet.Score.Beats) < 32 || len(sheet.Score.Sections) < 3 {
			t.Errorf("%s: %q, key %q, %d beats, %d sections", song.Name, sheet.Hash, sheet.Score.Key, len(sheet.Score.Beats), len(sheet.Score.Sections))
		}
		for i, s := range sheet.Stems {
			if !slices.Contains(content.Roles, s.Role) || s.Source == "" || s.Mic != (s.DistanceM > 0) {
				t.Errorf("%s: %+v", song.Name, s)
			}
			for _, n := range s.Notes {
				if n.From < 0 || n.To > int(sheet.Frames) || n.Key < 16 || n.Key > 100 {
					t.Errorf("%s, %s: note %+v", song.Name, s.Name, n)
				}
			}
			if partner := sheet.Partner(i); partner >= 0 {
				paired++
				if sheet.Stems[partner].Pair != s.Pair {
					t.Errorf("%s: %s and %s are no pair", song.Name, s.Name, sheet.Stems[partner].Name)
				}
			}
			notes, consonants = notes+len(s.Notes), consonants+len(s.Consonants)
		}
		if err := m.Close(); err != nil {
			t.Error(err)
		}
	}
	if len(songs) != 9 || notes < 1000 || consonants < 100 || paired < 40 {
		t.Errorf("%d songs, %d notes, %d consonants, %d stems of pairs", len(songs), notes, consonants, paired)
	}
}

// From a demo song to the first loop with all its stems: rendered, and read
// from the cache.
func BenchmarkDemoToFirstClip(b *testing.B) {
	for _, name := range []string{"kettle", "parade"} {
		cache := demo.Cache{Dir: b.TempDir(), MaxBytes: 1 << 30}
		for _, from := range []string{"rendered", "cached"} {
			b.Run(name+"/"+from, func(b *testing.B) {
				for b.Loop() {
					m := openDemo(b, name, cache)
					if _, err := m.Clip(b.Context(), 0); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "s")
			})
		}
	}
}
