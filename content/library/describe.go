package library

import (
	"strop/content"
	"strop/content/demo"
)

// Describe is the sheet of a take of a demo song, without its faders. Nothing
// is rendered for it.
func Describe(song demo.Song, seed uint64) (content.Sheet, error) {
	take, err := song.Describe(seed)
	if err != nil {
		return content.Sheet{}, err
	}
	return sheetOf(song, take, content.Kept{}), nil
}
