package scene_test

import (
	"errors"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"strop/game/ui"
	"strop/game/ui/raster"
)

// pictures are screens as the README shows them.
var pictures = []struct {
	state string
	theme ui.Theme
}{
	{"today", ui.Day},
	{"drill-answered", ui.Day},
	{"feedback-wrong", ui.Night},
	{"drill-turned", ui.Day},
	{"drills", ui.Night},
	{"skills", ui.Day},
	{"feedback-arc", ui.Day},
	{"progress", ui.Day},
	{"feedback-cards", ui.Day},
	{"predictions", ui.Day},
	{"feedback-turned", ui.Night},
	{"material-playing", ui.Night},
	{"stems", ui.Day},
	{"intake", ui.Day},
	{"sources", ui.Day},
}

// TestGoldenPictures holds pictures of whole screens to those that were looked
// at and found good; -update writes them. Rounding may differ between
// processors: 1 pixel in 500 may be off by more than 8 of 255.
func TestGoldenPictures(t *testing.T) {
	fonts, err := raster.NewFonts()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range pictures {
		w := newWorld(t)
		w.Wish.Trials = 20
		w.reach(p.state)
		w.pass(time.Second) // curves have arrived
		view := ui.View{WidthPx: 1080, HeightPx: 720, TextScale: 1}
		f := ui.Layout(w.stage.Page(), view, w.state, fonts)
		got := raster.Draw(f.Commands, p.theme, fonts, view.WidthPx, view.HeightPx, 1)
		file := filepath.Join("..", "..", "testdata", "pictures", p.state+".png")
		if *update {
			writePicture(t, file, got)
		}
		if off := differing(got, readPicture(t, file)); off > 1.0/500 {
			t.Errorf("%s: %.2f %% of the picture differs", file, 100*off)
		}
		if info, err := os.Stat(file); err != nil || info.Size() > 150_000 {
			t.Errorf("%s: %v, and at most 150 kB are wanted", file, err)
		}
	}
}

func writePicture(t *testing.T, file string, img image.Image) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
		t.Fatal(err)
	}
	w, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	encoder := png.Encoder{CompressionLevel: png.BestCompression}
	if err := errors.Join(encoder.Encode(w, img), w.Close()); err != nil {
		t.Fatal(err)
	}
}

func readPicture(t *testing.T, file string) image.Image {
	t.Helper()
	r, err := os.Open(file)
	if err != nil {
		t.Fatalf("%v: run with -update", err)
	}
	defer r.Close()
	img, err := png.Decode(r)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// differing is the share of pixels that are clearly not the same.
func differing(a, b image.Image) float64 {
	if a.Bounds() != b.Bounds() {
		return 1
	}
	n := 0
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			c, d := color.RGBAModel.Convert(a.At(x, y)).(color.RGBA), color.RGBAModel.Convert(b.At(x, y)).(color.RGBA)
			if apart(c.R, d.R) || apart(c.G, d.G) || apart(c.B, d.B) {
				n++
			}
		}
	}
	return float64(n) / float64(a.Bounds().Dx()*a.Bounds().Dy())
}

func apart(a, b uint8) bool { return math.Abs(float64(a)-float64(b)) > 8 }
