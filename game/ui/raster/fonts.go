package raster

import (
	"fmt"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"

	"strop/game/ui"
)

// Fonts are the Go fonts in any size. They measure text for layout too, and
// remember what they measured. Not for use by two goroutines at once.
type Fonts struct {
	regular, bold *opentype.Font
	faces         map[faceKey]font.Face
	widths        map[widthKey]float64
}

type faceKey struct {
	sizePx float64
	bold   bool
}

type widthKey struct {
	faceKey
	text string
}

var _ ui.Measurer = (*Fonts)(nil)

// NewFonts parses the fonts, which are part of the program.
func NewFonts() (*Fonts, error) {
	regular, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, fmt.Errorf("go regular: %w", err)
	}
	bold, err := opentype.Parse(gomedium.TTF)
	if err != nil {
		return nil, fmt.Errorf("go medium: %w", err)
	}
	return &Fonts{regular, bold, map[faceKey]font.Face{}, map[widthKey]float64{}}, nil
}

// mostWidths is when the remembered widths are forgotten, so that texts that
// never come back do not pile up.
const mostWidths = 1 << 14

// WidthPx is the advance of a text.
func (f *Fonts) WidthPx(text string, sizePx float64, bold bool) float64 {
	key := widthKey{faceKey{sizePx, bold}, text}
	if w, ok := f.widths[key]; ok {
		return w
	}
	if len(f.widths) >= mostWidths {
		clear(f.widths)
	}
	w := float64(font.MeasureString(f.face(sizePx, bold), text)) / 64
	f.widths[key] = w
	return w
}

func (f *Fonts) face(sizePx float64, bold bool) font.Face {
	key := faceKey{sizePx, bold}
	if face, ok := f.faces[key]; ok {
		return face
	}
	parsed := f.regular
	if bold {
		parsed = f.bold
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: sizePx, DPI: 72})
	if err != nil {
		panic(err) // NewFace fails on no option there is
	}
	f.faces[key] = face
	return face
}
