// Package raster draws a laid-out page into an image without a window: golden
// pictures, screenshots, and proof that a frame's commands suffice.
package raster

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"slices"

	"golang.org/x/image/font"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"strop/game/ui"
)

// Draw draws a frame at scale device pixels to a logical one.
func Draw(commands []ui.Command, theme ui.Theme, fonts *Fonts, widthPx, heightPx, scale float64) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, int(math.Ceil(widthPx*scale)), int(math.Ceil(heightPx*scale))))
	b := brush{img: img, theme: theme, fonts: fonts, scale: scale}
	for _, c := range commands {
		b.draw(c, img.Bounds())
	}
	return img
}

type brush struct {
	img   *image.RGBA
	theme ui.Theme
	fonts *Fonts
	scale float64
	fill  vector.Rasterizer
	mask  image.Alpha
}

// draw draws what of c lies inside of part.
func (b *brush) draw(c ui.Command, part image.Rectangle) {
	clip := b.pixels(c.Clip).Intersect(part)
	if clip.Empty() {
		return
	}
	ink := b.theme[c.Ink]
	switch c.Op {
	case ui.Fill:
		if r, ok := b.plain(c.Path); ok {
			draw.Draw(b.img, r.Intersect(clip), image.NewUniform(ink), image.Point{}, draw.Src)
			return
		}
		clip = clip.Intersect(b.reach(c))
		b.outline(clip, ink, func() { b.polygon(clip.Min, c.Path) })
	case ui.Stroke, ui.Lines:
		clip = clip.Intersect(b.reach(c))
		b.outline(clip, ink, func() {
			for line := range c.Strokes() {
				b.line(clip.Min, line, c.Width)
			}
		})
	case ui.Label:
		b.label(clip, ink, c)
	}
}

// pixels is a rectangle in device pixels, its edges rounded.
func (b *brush) pixels(r ui.Rect) image.Rectangle {
	px := func(v float64) int { return int(math.Round(v * b.scale)) }
	return image.Rect(px(r.X), px(r.Y), px(r.Right()), px(r.Bottom()))
}

// reach is the pixels a path can touch.
func (b *brush) reach(c ui.Command) image.Rectangle {
	lo, hi := c.Path[0], c.Path[0]
	for _, p := range c.Path {
		lo = ui.Point{X: min(lo.X, p.X), Y: min(lo.Y, p.Y)}
		hi = ui.Point{X: max(hi.X, p.X), Y: max(hi.Y, p.Y)}
	}
	w := c.Width
	return b.pixels(ui.Rect{X: lo.X - w, Y: lo.Y - w, W: hi.X - lo.X + 2*w, H: hi.Y - lo.Y + 2*w}).Inset(-1)
}

// outline fills what add draws, inside clip.
func (b *brush) outline(clip image.Rectangle, ink color.RGBA, add func()) {
	if clip.Empty() {
		return
	}
	b.fill.Reset(clip.Dx(), clip.Dy())
	b.fill.DrawOp = draw.Src
	add()
	n := clip.Dx() * clip.Dy()
	b.mask = image.Alpha{Pix: slices.Grow(b.mask.Pix[:0], n)[:n], Stride: clip.Dx(), Rect: clip}
	b.fill.Draw(&b.mask, clip, image.Opaque, image.Point{})
	blend(b.img, &b.mask, ink)
}

func (b *brush) polygon(origin image.Point, path []ui.Point) {
	for i, p := range path {
		x, y := float32(p.X*b.scale)-float32(origin.X), float32(p.Y*b.scale)-float32(origin.Y)
		if i == 0 {
			b.fill.MoveTo(x, y)
		} else {
			b.fill.LineTo(x, y)
		}
	}
	b.fill.ClosePath()
}

// line adds each stretch of a polyline as a rectangle, and between them
// mitre-like squares small enough not to show. All turn the same way, so that
// where they overlap nothing cancels.
func (b *brush) line(origin image.Point, line []ui.Point, width float64) {
	for i := 1; i < len(line); i++ {
		p, q := line[i-1], line[i]
		length := math.Hypot(q.X-p.X, q.Y-p.Y)
		if length == 0 {
			continue
		}
		ux, uy := (q.X-p.X)/length, (q.Y-p.Y)/length
		nx, ny := -uy*width/2, ux*width/2
		if i > 1 { // close the corner before it
			p = ui.Point{X: p.X - ux*width/2, Y: p.Y - uy*width/2}
		}
		b.polygon(origin, []ui.Point{{X: p.X + nx, Y: p.Y + ny}, {X: p.X - nx, Y: p.Y - ny}, {X: q.X - nx, Y: q.Y - ny}, {X: q.X + nx, Y: q.Y + ny}})
	}
}

func (b *brush) label(clip image.Rectangle, ink color.RGBA, c ui.Command) {
	at := c.Path[0]
	d := font.Drawer{
		Dst:  b.img.SubImage(clip).(draw.Image),
		Src:  image.NewUniform(ink),
		Face: b.fonts.face(c.SizePx*b.scale, c.Bold),
		Dot:  fixed.Point26_6{X: fixed.Int26_6(math.Round(at.X * b.scale * 64)), Y: fixed.I(int(math.Round(at.Y * b.scale)))},
	}
	d.DrawString(c.Text)
}
