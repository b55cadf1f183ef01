// Package ffmpeg reads the formats that are not decoded here (M4A, WavPack,
// WMA, the sound of a film) through the program ffmpeg, where it is installed.
//
// The program runs as a child, reads the file and nothing else (no network, no
// standard input), and writes its first sound stream to a pipe as an AU file of
// 32-bit floats: the simplest format that states rate and channels before the
// first sample and needs no length. Samples beyond full scale are kept.
package ffmpeg

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"strop/content/pcm"
	"strop/dsp"
)

// ErrMissing is the error of Open where there is no ffmpeg.
var ErrMissing = errors.New("this format needs the ffmpeg program, which was not found: install it, or save the file as WAV or FLAC")

// maxHeader is how much may stand before the first sample.
const maxHeader = 1 << 16

// Available tells whether the program can be found.
func Available() bool {
	_, err := exec.LookPath("ffmpeg")
	return err == nil
}

// A Source is the program at work. Close it in any case: that ends the child.
// Of its Format, the length is not known before the end.
type Source struct {
	pcm.Source
	cancel context.CancelFunc
	cmd    *exec.Cmd
	out    *bufio.Reader
	errs   *tail
	ended  bool // the child has been waited for
	raw    []byte
	block  []dsp.Frame
}

var (
	_ pcm.Source = (*Source)(nil)
	_ io.Closer  = (*Source)(nil)
)

// Open starts the program on the file at path. The child is killed when ctx is
// done. The error is ErrMissing if there is no ffmpeg; otherwise it tells what
// ffmpeg says, or that there are more than two channels.
func Open(ctx context.Context, path string) (*Source, error) {
	program, err := exec.LookPath("ffmpeg")
	if err != nil {
		return nil, ErrMissing
	}
	path, err = filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithCancel(ctx)
	s := &Source{cancel: cancel, errs: &tail{}}
	s.cmd = exec.CommandContext(ctx, program, "-nostdin", "-v", "error", "-protocol_whitelist", "file", "-err_detect", "crccheck",
		"-i", "file:"+path, "-map", "0:a:0", "-c:a", "pcm_f32be", "-f", "au", "-protocol_whitelist", "pipe", "pipe:1")
	s.cmd.Stderr = s.errs
	s.cmd.WaitDelay = time.Second
	if err := s.start(ctx, path); err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

func (s *Source) start(ctx context.Context, path string) error {
	pipe, err := s.cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := s.cmd.Start(); err != nil {
		return fmt.Errorf("the ffmpeg program does not start: %w", err)
	}
	s.out = bufio.NewReaderSize(pipe, maxHeader)
	format, err := readHeader(s.out)
	if err != nil {
		return s.failure(ctx, path)
	}
	if err := pcm.CheckChannels(format.Channels); err != nil {
		return err
	}
	s.raw = make([]byte, 4*format.Channels*4096)
	s.block = make([]dsp.Frame, 4096)
	s.Source = pcm.Blocks(format, func() ([]dsp.Frame, error) { return s.next(ctx, path) })
	return nil
}

// readHeader reads that of an AU file: six big-endian words, ".snd", where the
// samples begin, their size, their kind (6 is 32-bit float), rate, channels.
// Source: Sun Microsystems, audio file format, man page au(4).
func readHeader(r io.Reader) (pcm.Format, error) {
	var head [6]uint32
	if err := binary.Read(r, binary.BigEndian, &head); err != nil {
		return pcm.Format{}, err
	}
	text := int64(head[1]) - 24
	if head[0] != 0x2e736e64 || head[3] != 6 || text < 0 || text > maxHeader {
		return pcm.Format{}, pcm.ErrDamaged
	}
	_, err := io.CopyN(io.Discard, r, text)
	return pcm.Format{
		Container: "ffmpeg", Codec: "ffmpeg", RateHz: float64(head[4]), Channels: int(head[5]), Frames: -1,
	}, err
}

// next reads one block from the pipe.
func (s *Source) next(ctx context.Context, path string) ([]dsp.Frame, error) {
	n, err := io.ReadFull(s.out, s.raw)
	block := s.fill(s.raw[:n])
	if err == nil {
		return block, nil
	}
	if err := s.failure(ctx, path); err != nil {
		return block, err
	}
	return block, io.EOF
}

func (s *Source) fill(raw []byte) []dsp.Frame {
	channels := s.Format().Channels
	n := len(raw) / (4 * channels)
	for i := range n {
		at := 4 * channels * i
		s.block[i] = dsp.Frame{float32At(raw[at:]), float32At(raw[at+4*(channels-1):])}
	}
	return s.block[:n]
}

func float32At(raw []byte) float64 {
	return float64(math.Float32frombits(binary.BigEndian.Uint32(raw)))
}

// failure waits for the end of the child, and is what was wrong with it, nil
// if nothing was. Whatever it wrote to its standard error counts as wrong: with
// -v error that is damage to the file.
func (s *Source) failure(ctx context.Context, path string) error {
	s.ended = true
	err := s.cmd.Wait()
	if ctx.Err() != nil {
		return fmt.Errorf("reading it was stopped: %w", ctx.Err())
	}
	text := strings.ReplaceAll(s.errs.lastLine(), "file:"+path+": ", "")
	switch {
	case text != "":
		return fmt.Errorf("the ffmpeg program cannot read it: %s", text)
	case err != nil:
		return fmt.Errorf("the ffmpeg program cannot read it: %w", err)
	}
	return nil
}

// Close ends the child, if it still runs.
func (s *Source) Close() error {
	s.cancel()
	if s.cmd.Process != nil && !s.ended {
		s.ended = true
		s.cmd.Wait() // it was killed: that it failed is no news
	}
	return nil
}

// A tail keeps the last of what is written to it.
type tail struct{ data []byte }

const maxTail = 2048

func (t *tail) Write(p []byte) (int, error) {
	t.data = append(t.data, p...)
	if len(t.data) > maxTail {
		t.data = append(t.data[:0], t.data[len(t.data)-maxTail:]...)
	}
	return len(p), nil
}

// lastLine is the last line, without the address that ffmpeg puts before its
// messages ("[mov @ 0x5581] ...").
func (t *tail) lastLine() string {
	text := bytes.TrimSpace(t.data)
	text = text[bytes.LastIndexByte(text, '\n')+1:]
	if _, rest, ok := bytes.Cut(text, []byte("] ")); ok && text[0] == '[' {
		text = rest
	}
	return string(bytes.ToValidUTF8(text[:min(len(text), 200)], nil))
}
