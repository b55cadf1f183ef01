package raster_test

import (
	"bytes"
	"testing"

	"strop/game/ui"
	"strop/game/ui/raster"
	"strop/game/ui/uitest"
)

// What a canvas shows after any other page is, to the pixel, what is drawn
// from nothing.
func TestCanvasShowsWhatDrawDraws(t *testing.T) {
	fonts := fonts(t)
	canvas := raster.NewCanvas(fonts)
	pages := uitest.Gallery()
	pages = append(pages, pages[0], pages[2], pages[2], pages[1])
	for _, scale := range []float64{1, 1.5, 2} {
		for i, page := range pages {
			v := uitest.Sizes()[0]
			page.Progress = float64(i) / 10
			f := ui.Layout(page, v, ui.State{}, fonts)
			canvas.Show(f, ui.Night, scale)
			want := raster.Draw(f.Commands, ui.Night, fonts, v.WidthPx, v.HeightPx, scale)
			if !bytes.Equal(canvas.Image().Pix, want.Pix) {
				t.Fatalf("scale %g: page %d, %s, is not what is drawn from nothing", scale, i, page.Name)
			}
			if again := canvas.Show(f, ui.Night, scale); !again.Empty() {
				t.Errorf("the same frame changed %v", again)
			}
		}
	}
}

// A curve on its way redraws its plot, not the page.
func TestCanvasRedrawsLittle(t *testing.T) {
	fonts, v := fonts(t), uitest.Sizes()[0]
	canvas := raster.NewCanvas(fonts)
	page := uitest.Feedback()
	canvas.Show(ui.Layout(page, v, ui.State{}, fonts), ui.Day, 1)
	page.Progress += 0.1
	part := canvas.Show(ui.Layout(page, v, ui.State{}, fonts), ui.Day, 1)
	if all := canvas.Image().Rect; part.Empty() || part.Dx()*part.Dy() > all.Dx()*all.Dy()/2 {
		t.Errorf("redrew %v of %v", part, all)
	}
}

func BenchmarkCanvasCurve(b *testing.B) {
	for _, size := range []struct {
		name                 string
		width, height, scale float64
	}{{"1280x800", 1280, 800, 1}, {"2560x1600", 1280, 800, 2}} {
		b.Run(size.name, func(b *testing.B) {
			fonts, v := fonts(b), ui.View{WidthPx: size.width, HeightPx: size.height, TextScale: 1}
			canvas := raster.NewCanvas(fonts)
			page := uitest.Feedback()
			for i := 0; b.Loop(); i++ {
				page.Progress = float64(i%50) / 50
				canvas.Show(ui.Layout(page, v, ui.State{}, fonts), ui.Day, size.scale)
			}
		})
	}
}
