package raster

import (
	"image"
	"math"

	"strop/game/ui"
)

// Canvas keeps the picture of the frame that was shown last, and draws of the
// next one only the part that differs.
type Canvas struct {
	brush brush
	shown *ui.Frame
}

// NewCanvas is an empty canvas that writes with fonts.
func NewCanvas(fonts *Fonts) *Canvas { return &Canvas{brush: brush{fonts: fonts}} }

// Image is the picture. It is good until the next Show.
func (c *Canvas) Image() *image.RGBA { return c.brush.img }

// Show draws a frame at scale device pixels to a logical one, and returns the
// part of the picture that changed, empty where nothing did. After another
// size, scale or theme that is all of it.
func (c *Canvas) Show(f *ui.Frame, theme ui.Theme, scale float64) image.Rectangle {
	v, b := f.View(), &c.brush
	all := image.Rect(0, 0, int(math.Ceil(v.WidthPx*scale)), int(math.Ceil(v.HeightPx*scale)))
	part := all
	switch {
	case b.img == nil || b.img.Rect != all:
		b.img = image.NewRGBA(all)
	case b.scale == scale && b.theme == theme:
		part = b.differing(c.shown.Commands, f.Commands).Intersect(all)
	}
	b.theme, b.scale, c.shown = theme, scale, f
	if part.Empty() {
		return part
	}
	for _, command := range f.Commands {
		b.draw(command, part)
	}
	return part
}

// differing is the part of the picture in which two lists of commands draw
// differently: what they begin and end with alike is left out.
func (b *brush) differing(old, new []ui.Command) image.Rectangle {
	for len(old) > 0 && len(new) > 0 && old[0].Equal(new[0]) {
		old, new = old[1:], new[1:]
	}
	for len(old) > 0 && len(new) > 0 && old[len(old)-1].Equal(new[len(new)-1]) {
		old, new = old[:len(old)-1], new[:len(new)-1]
	}
	if len(old) != len(new) {
		return b.extent(old).Union(b.extent(new))
	}
	var part image.Rectangle
	for i := range new {
		if !old[i].Equal(new[i]) {
			part = part.Union(b.extent(old[i : i+1])).Union(b.extent(new[i : i+1]))
		}
	}
	return part
}

// extent is the pixels that commands can touch.
func (b *brush) extent(commands []ui.Command) (all image.Rectangle) {
	for _, c := range commands {
		r := b.reach(c)
		if c.Op == ui.Label {
			r = b.labelReach(c)
		}
		all = all.Union(r.Intersect(b.pixels(c.Clip)))
	}
	return all
}

// labelReach is the room of a line of text, with what may lean out of it.
func (b *brush) labelReach(c ui.Command) image.Rectangle {
	at, em := c.Path[0], c.SizePx
	w := b.fonts.WidthPx(c.Text, c.SizePx*b.scale, c.Bold) / b.scale
	return b.pixels(ui.Rect{X: at.X - em/2, Y: at.Y - 1.2*em, W: w + em, H: 1.7 * em})
}

// Pixels appends part of a picture, row by row, four bytes a pixel.
func Pixels(to []byte, img *image.RGBA, part image.Rectangle) []byte {
	for y := part.Min.Y; y < part.Max.Y; y++ {
		i := img.PixOffset(part.Min.X, y)
		to = append(to, img.Pix[i:i+4*part.Dx()]...)
	}
	return to
}
