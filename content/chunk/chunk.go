// Package chunk walks through files that are made of chunks: RIFF, which holds
// WAV, and IFF, which holds AIFF. A chunk is a name of four letters, a size of
// 32 bits, that many bytes, and a byte more if their number is odd.
//
// Source: Morrison, "EA IFF 85" Standard for Interchange Format Files, 1985;
// Microsoft and IBM, Multimedia Programming Interface and Data Specifications
// 1.0, 1991, chapter 2 "Resource Interchange File Format" (both from memory).
package chunk

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"strop/content/pcm"
)

// Unset is a size that is stated elsewhere, or was never written.
const Unset = math.MaxUint32

var (
	errEmpty  = errors.New("the file is empty: get it again, or save it anew")
	errBefore = errors.New("the sound comes before what describes it: save the file to disk and open it there")
)

// A Form is the chunk that is the whole file.
type Form struct {
	ID   string // "RIFF", "RIFX", "RF64", "BW64", "FORM"
	Size uint32
	Kind string // "WAVE", "AIFF", "AIFC"
}

// A Chunk is one part of the form.
type Chunk struct {
	ID   string
	Size int64 // as stated, or from Large
	At   int64 // where its body begins, counted from where the file stood
}

// A Walker goes through the chunks of a file, forwards. A chunk that states to
// go beyond the end of the file is followed by the end. It allocates the same
// little whatever the file claims.
type Walker struct {
	// Large is the sizes of chunks that state Unset, by name. It is empty.
	Large map[string]int64
	// In is what the file is read through.
	In pcm.Input

	file    io.ReadSeeker
	start   int64 // where the file stood
	length  int64 // of what follows; -1 if the file cannot seek
	r       *bufio.Reader
	order   binary.ByteOrder
	sought  []string
	at      int64 // where r stands
	current Chunk
}

// NewWalker starts at where file stands. A file that cannot seek, as a pipe,
// is read forwards. Sought names the chunks that the caller looks for; it
// helps to find them where a byte of padding was forgotten.
func NewWalker(file io.ReadSeeker, sought ...string) *Walker {
	w := &Walker{In: pcm.Input{R: file}, file: file, length: -1, sought: sought}
	w.r = bufio.NewReader(&w.In)
	if start, err := file.Seek(0, io.SeekCurrent); err == nil {
		w.start = start
		w.length = length(file, start)
	}
	return w
}

// length is how much of file follows start, where it is left; -1 if that
// cannot be told.
func length(file io.Seeker, start int64) int64 {
	end, err := file.Seek(0, io.SeekEnd)
	if err != nil {
		return -1
	}
	if _, err := file.Seek(start, io.SeekStart); err != nil {
		return -1
	}
	return max(end-start, 0)
}

// Form reads the head of the file, and takes the byte order from its name:
// FORM and RIFX have the highest byte first, all others the lowest.
func (w *Walker) Form() (Form, error) {
	head, err := w.read(12)
	switch {
	case err == io.EOF:
		return Form{}, errEmpty
	case err != nil:
		return Form{}, w.In.Explain(err)
	}
	w.order = binary.LittleEndian
	if id := string(head[:4]); id == "FORM" || id == "RIFX" {
		w.order = binary.BigEndian
	}
	return Form{ID: string(head[:4]), Size: w.order.Uint32(head[4:]), Kind: string(head[8:])}, nil
}

// Order is the byte order of the file, known after Form.
func (w *Walker) Order() binary.ByteOrder { return w.order }

// Next goes to the next chunk, and is io.EOF where there is none.
func (w *Walker) Next() (Chunk, error) {
	if err := w.leave(); err != nil {
		return Chunk{}, err
	}
	head, err := w.read(8)
	switch {
	case err == io.EOF, err == io.ErrUnexpectedEOF:
		return Chunk{}, io.EOF
	case err != nil:
		return Chunk{}, w.In.Explain(err)
	case !printable(head[:4]):
		return Chunk{}, pcm.ErrDamaged
	}
	c := Chunk{ID: string(head[:4]), Size: int64(w.order.Uint32(head[4:])), At: w.at}
	if large, ok := w.Large[c.ID]; ok && c.Size == Unset {
		c.Size = large
	}
	w.current = c
	return c, nil
}

// leave goes to the end of the current chunk.
func (w *Walker) leave() error {
	c := w.current
	if c.At == 0 {
		return nil
	}
	if c.Size > math.MaxInt64-c.At-1 {
		return io.EOF
	}
	if err := w.skip(c.At + c.Size - w.at); err != nil || c.Size%2 == 0 {
		return err
	}
	if w.unpadded() {
		return nil
	}
	return w.skip(1)
}

// unpadded tells whether the byte of padding was forgotten here. Some programs
// do; others write one that is not zero. It is missing if what stands here
// reads as a name, and what stands a byte further is none that is sought.
func (w *Walker) unpadded() bool {
	b, err := w.r.Peek(5)
	return err == nil && printable(b[:4]) && !slices.Contains(w.sought, string(b[1:]))
}

func printable(name []byte) bool {
	return bytes.IndexFunc(name, func(r rune) bool { return r < ' ' || r > '~' }) < 0
}

// Head is the first n bytes of the body of the current chunk, fewer if it is
// shorter. It is called once a chunk, before Next.
func (w *Walker) Head(n int) ([]byte, error) {
	b, err := w.read(int(min(int64(n), w.current.Size)))
	if err == io.EOF && w.current.Size == 0 {
		err = nil
	}
	return b, w.In.Explain(err)
}

// Goto stands at byte at, counted from where the file stood, which may be
// before the current chunk.
func (w *Walker) Goto(at int64) error {
	switch {
	case at >= w.at && w.length < 0:
		return notEOF(w.skip(at - w.at))
	case w.length < 0:
		return errBefore
	}
	return notEOF(w.seek(at))
}

func notEOF(err error) error {
	if err == io.EOF {
		return pcm.ErrTruncated
	}
	return err
}

// Rest is the file from where the walker stands, and its length; -1 where that
// cannot be told.
func (w *Walker) Rest() (r io.Reader, length int64) {
	if w.length < 0 {
		return w.r, -1
	}
	return w.r, max(w.length-w.at, 0)
}

func (w *Walker) read(n int) ([]byte, error) {
	b := make([]byte, n)
	got, err := io.ReadFull(w.r, b)
	w.at += int64(got)
	return b, err
}

// skip goes n bytes forwards: by reading, where it is not far or there is no
// other way. Beyond the end of the file it is io.EOF.
func (w *Walker) skip(n int64) error {
	if n > int64(w.r.Size()) && w.length >= 0 {
		return w.seek(w.at + n)
	}
	got, err := io.CopyN(io.Discard, w.r, n)
	w.at += got
	if err == nil || err == io.EOF {
		return err
	}
	return w.In.Explain(err)
}

func (w *Walker) seek(to int64) error {
	if to > w.length {
		return io.EOF
	}
	if _, err := w.file.Seek(w.start+to, io.SeekStart); err != nil {
		return fmt.Errorf("the file cannot be read: %w", err)
	}
	w.r.Reset(&w.In)
	w.at = to
	return nil
}
