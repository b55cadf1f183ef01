package exchange

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/transform"

	"strop/drills"
)

// ErrNotOurs is a file that strop did not export.
var ErrNotOurs = errors.New("this is no export of strop; choose a file that strop export wrote")

// ErrNewer is an export with fields that this program does not know.
var ErrNewer = errors.New("a newer strop has written this export; update strop to read it")

// mostBytes is how long one record may be: some hundred times what one takes.
const mostBytes = 1 << 20

// Read reads an export one record at a time, JSON or CSV, as its first
// character tells. It reads exports of every version so far: what they do not
// hold yet is empty. It ends with an error at the first record that is not
// whole or that no sitting could have given, and never holds more than one
// record in memory.
func Read(r io.Reader) iter.Seq2[drills.Record, error] {
	return func(yield func(drills.Record, error) bool) {
		text := bufio.NewReader(transform.NewReader(r, encoding.UTF8Validator)) // what is behind it would mend other text
		in := &gate{from: text}
		read := readCSV
		switch first, err := firstOf(text); {
		case err != nil:
			yield(drills.Record{}, ErrNotOurs)
			return
		case first == '[' || first == '{':
			read = readJSON
		}
		n := 0
		for record, err := range read(in) {
			in.passed = 0
			if n++; err == nil {
				err = check(record)
			}
			if err != nil {
				yield(drills.Record{}, explain(n, err))
				return
			}
			if !yield(record, nil) {
				return
			}
		}
	}
}

// explain says at which record what is wrong.
func explain(n int, err error) error {
	switch {
	case errors.Is(err, ErrNotOurs), errors.Is(err, ErrNewer):
		return err
	case errors.Is(err, encoding.ErrInvalidUTF8):
		return fmt.Errorf("record %d: a letter is not in UTF-8; export it again, or save the file as UTF-8", n)
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return fmt.Errorf("the export ends in the middle of record %d; export it again", n)
	}
	return fmt.Errorf("record %d: %w", n, err)
}

// firstOf is the first character that is no white space, left in place. A byte
// order mark is taken away.
func firstOf(r *bufio.Reader) (byte, error) {
	if mark, _ := r.Peek(3); string(mark) == "\xef\xbb\xbf" {
		_, _ = r.Discard(3) // it has just been seen
	}
	for {
		c, err := r.ReadByte()
		if err != nil {
			return 0, err
		}
		if !strings.ContainsRune(" \t\r\n", rune(c)) {
			return c, r.UnreadByte()
		}
	}
}

// gate refuses to let much more than one record pass at a time.
type gate struct {
	from   io.Reader
	passed int
}

func (g *gate) Read(p []byte) (int, error) {
	if g.passed > mostBytes {
		return 0, fmt.Errorf("longer than %d bytes: %w", mostBytes, ErrNotOurs)
	}
	n, err := g.from.Read(p)
	g.passed += n
	return n, err
}

// readJSON reads the records of an array.
func readJSON(r io.Reader) iter.Seq2[drills.Record, error] {
	return func(yield func(drills.Record, error) bool) {
		in := json.NewDecoder(r)
		in.DisallowUnknownFields()
		if start, err := in.Token(); err != nil || start != json.Delim('[') {
			yield(drills.Record{}, ErrNotOurs)
			return
		}
		for in.More() {
			var record drills.Record
			err := asOurs(in.Decode(&record))
			if !yield(record, err) || err != nil {
				return
			}
		}
		if _, err := in.Token(); err != nil { // the closing bracket
			yield(drills.Record{}, io.ErrUnexpectedEOF)
			return
		}
		if _, err := in.Token(); err != io.EOF {
			yield(drills.Record{}, errors.New("something follows the last record"))
		}
	}
}

// asOurs tells a field that is not known yet from what is no export at all.
func asOurs(err error) error {
	syntax, kind := new(json.SyntaxError), new(json.UnmarshalTypeError)
	switch {
	case err == nil:
		return nil
	case strings.Contains(err.Error(), "unknown field"): // the package gives it no type
		return ErrNewer
	case errors.As(err, &kind) && kind.Field != "":
		return fmt.Errorf("%s holds a %s", kind.Field, kind.Value)
	case errors.As(err, &syntax) && strings.Contains(err.Error(), "unexpected end"):
		return io.ErrUnexpectedEOF
	case errors.As(err, &kind), errors.As(err, &syntax):
		return ErrNotOurs
	}
	return err
}

// readCSV reads the lines under a line of names.
func readCSV(r io.Reader) iter.Seq2[drills.Record, error] {
	return func(yield func(drills.Record, error) bool) {
		in := csv.NewReader(r)
		in.ReuseRecord = true
		names, err := in.Read()
		if err != nil || !slices.Equal(names[:min(len(names), firstColumns)], columns[:firstColumns]) {
			yield(drills.Record{}, ErrNotOurs)
			return
		}
		places, known := placesOf(names)
		if !known {
			yield(drills.Record{}, ErrNewer)
			return
		}
		for {
			cells, err := in.Read()
			if err == io.EOF {
				return
			}
			if wrong := new(csv.ParseError); errors.As(err, &wrong) {
				err = io.ErrUnexpectedEOF // a quote without an end, or a line with too few cells
			}
			var record drills.Record
			if err == nil {
				err = fill(&record, places, cells)
			}
			if !yield(record, err) || err != nil {
				return
			}
		}
	}
}
