package raster_test

import (
	"errors"
	"flag"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"testing"

	"strop/game/ui"
	"strop/game/ui/raster"
	"strop/game/ui/uitest"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

func fonts(t testing.TB) *raster.Fonts {
	f, err := raster.NewFonts()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// TestGoldenPictures holds pictures to those that were looked at and found
// good. Rounding may differ between processors: 1 pixel in 500 may be off by
// more than 8 of 255.
func TestGoldenPictures(t *testing.T) {
	fonts := fonts(t)
	for i, p := range uitest.Gallery() {
		v, theme, name := uitest.Sizes()[i%3], ui.Day, "-day"
		if i%2 == 1 {
			theme, name = ui.Night, "-night"
		}
		f := ui.Layout(p, v, ui.State{}, fonts)
		got := raster.Draw(f.Commands, theme, fonts, v.WidthPx, v.HeightPx, 1)
		file := filepath.Join("testdata", p.Name+name+".png")
		if *update {
			write(t, file, got)
		}
		want := read(t, file)
		if off := differing(got, want); off > 1.0/500 {
			t.Errorf("%s: %.2f %% of the picture differs", file, 100*off)
		}
	}
}

func write(t testing.TB, file string, img image.Image) {
	w, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(png.Encode(w, img), w.Close()); err != nil {
		t.Fatal(err)
	}
}

func read(t testing.TB, file string) image.Image {
	r, err := os.Open(file)
	if errors.Is(err, fs.ErrNotExist) {
		t.Fatalf("%s is missing: run with -update", file)
	}
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	img, err := png.Decode(r)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// differing is the share of pixels that are clearly not the same; 1 where the sizes differ.
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

// TestPrimitives draws each operation on known pixels.
func TestPrimitives(t *testing.T) {
	all := ui.Rect{W: 20, H: 20}
	square := []ui.Point{{X: 4, Y: 4}, {X: 12, Y: 4}, {X: 12, Y: 12}, {X: 4, Y: 12}}
	commands := []ui.Command{
		{Op: ui.Fill, Ink: ui.Sheet, Path: []ui.Point{{}, {X: 20}, {X: 20, Y: 20}, {Y: 20}}, Clip: all},
		{Op: ui.Fill, Ink: ui.Brass, Path: square, Clip: ui.Rect{W: 20, H: 8}},
		{Op: ui.Lines, Ink: ui.Ink, Width: 1, Path: []ui.Point{{X: 0, Y: 15.5}, {X: 20, Y: 15.5}, {X: 17.5, Y: 0}, {X: 17.5, Y: 10}}, Clip: all},
	}
	for _, scale := range []float64{1, 2} {
		img := raster.Draw(commands, ui.Day, nil, 20, 20, scale)
		for at, want := range map[ui.Point]ui.Token{
			{X: 5, Y: 5}: ui.Brass, {X: 11, Y: 7}: ui.Brass, {X: 12, Y: 7}: ui.Sheet, {X: 5, Y: 8}: ui.Sheet, {X: 3, Y: 5}: ui.Sheet,
			{X: 0, Y: 15}: ui.Ink, {X: 19, Y: 15}: ui.Ink, {X: 5, Y: 14}: ui.Sheet, {X: 5, Y: 16}: ui.Sheet, {X: 17, Y: 2}: ui.Ink, {X: 17, Y: 12}: ui.Sheet,
		} {
			if got := img.RGBAAt(int(at.X*scale), int(at.Y*scale)); got != ui.Day[want] {
				t.Errorf("scale %g: %v is %v, want %v", scale, at, got, want)
			}
		}
	}
}

// TestFiguresAreOfEqualWidth, so that numbers stand still while they change.
func TestFiguresAreOfEqualWidth(t *testing.T) {
	f := fonts(t)
	for _, bold := range []bool{false, true} {
		for _, digit := range "123456789" {
			if got, want := f.WidthPx(string(digit), 16, bold), f.WidthPx("0", 16, bold); got != want {
				t.Errorf("%c is %g wide, 0 is %g", digit, got, want)
			}
		}
	}
}

func BenchmarkDraw(b *testing.B) {
	fonts, v := fonts(b), uitest.Sizes()[0]
	f := ui.Layout(uitest.Feedback(), v, ui.State{}, fonts)
	for b.Loop() {
		raster.Draw(f.Commands, ui.Day, fonts, v.WidthPx, v.HeightPx, 1)
	}
}

func BenchmarkLayoutWithFonts(b *testing.B) {
	fonts, v := fonts(b), uitest.Sizes()[0]
	p := uitest.Feedback()
	b.ReportAllocs()
	for b.Loop() {
		ui.Layout(p, v, ui.State{}, fonts)
	}
}
