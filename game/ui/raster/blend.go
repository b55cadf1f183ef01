package raster

import (
	"encoding/binary"
	"image"
	"image/color"
	"math"

	"strop/game/ui"
)

// blend lays an opaque ink over img as thickly as mask says, inside the
// mask's rectangle, which lies within img. Most of a mask is empty.
func blend(img *image.RGBA, mask *image.Alpha, ink color.RGBA) {
	r := mask.Rect
	for y := r.Min.Y; y < r.Max.Y; y++ {
		from := (y - r.Min.Y) * mask.Stride
		row := mask.Pix[from : from+r.Dx()]
		blendRow(img.Pix[img.PixOffset(r.Min.X, y):][:4*r.Dx()], row, ink)
	}
}

func blendRow(pix, row []uint8, ink color.RGBA) {
	for i := 0; i < len(row); i++ {
		for i+8 <= len(row) && binary.LittleEndian.Uint64(row[i:]) == 0 {
			i += 8
		}
		if i == len(row) {
			return
		}
		p := pix[4*i : 4*i+4 : 4*i+4]
		switch a := uint32(row[i]); a {
		case 0:
		case 255:
			p[0], p[1], p[2], p[3] = ink.R, ink.G, ink.B, 255
		default:
			p[0], p[1], p[2], p[3] = mix(p[0], ink.R, a), mix(p[1], ink.G, a), mix(p[2], ink.B, a), 255
		}
	}
}

// mix is a 255ths of b and the rest of a, rounded.
func mix(below, above uint8, a uint32) uint8 {
	return uint8((uint32(below)*(255-a) + uint32(above)*a + 127) / 255)
}

// plain is a path that is a rectangle of whole pixels.
func (b *brush) plain(path []ui.Point) (image.Rectangle, bool) {
	if len(path) != 4 || path[0].Y != path[1].Y || path[1].X != path[2].X || path[2].Y != path[3].Y || path[3].X != path[0].X {
		return image.Rectangle{}, false
	}
	x0, y0, x1, y1 := path[0].X*b.scale, path[0].Y*b.scale, path[2].X*b.scale, path[2].Y*b.scale
	for _, v := range [4]float64{x0, y0, x1, y1} {
		if v != math.Trunc(v) {
			return image.Rectangle{}, false
		}
	}
	return image.Rect(int(x0), int(y0), int(x1), int(y1)), true
}
