package demo

import (
	"fmt"
	"math"
	"strconv"
)

// fields say where the words of a statement go, by the word before them.
type fields struct {
	flags   map[string]*bool
	figures map[string]*float64
	words   map[string]*string
	places  map[string]*place
}

func (f fields) read(words []string) error {
	rest, err := f.readLeading(words)
	if err == nil && len(rest) > 0 {
		return fmt.Errorf("%q is not understood here", rest[0])
	}
	return err
}

// readLeading reads the fields that words begin with, and gives what follows.
func (f fields) readLeading(words []string) (rest []string, err error) {
	for len(words) > 0 {
		n, err := f.readOne(words)
		if n == 0 || err != nil {
			return words, err
		}
		words = words[n:]
	}
	return nil, nil
}

// readOne reads one field, and tells how many words it took: none where there
// is no field.
func (f fields) readOne(words []string) (int, error) {
	name := words[0]
	if flag := f.flags[name]; flag != nil {
		*flag = true
		return 1, nil
	}
	if point := f.places[name]; point != nil && len(words) >= 4 {
		v, err := parseFigures(words[1:4])
		if err == nil {
			*point = place(v)
		}
		return 4, err
	}
	if len(words) >= 2 && f.words[name] != nil {
		*f.words[name] = words[1]
		return 2, nil
	}
	if len(words) >= 2 && f.figures[name] != nil {
		v, err := parseFigures(words[1:2])
		if err != nil {
			return 0, fmt.Errorf("%s %w", name, err)
		}
		*f.figures[name] = v[0]
		return 2, nil
	}
	return 0, nil
}

func parseFigures(words []string) ([]float64, error) {
	figures := make([]float64, len(words))
	for i, w := range words {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("%s is not a number", w)
		}
		figures[i] = v
	}
	return figures, nil
}
