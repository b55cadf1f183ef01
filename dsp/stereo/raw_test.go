package stereo_test

import (
	"bytes"
	"encoding/binary"
	"os/exec"
	"strings"
	"testing"

	"strop/dsp"
)

// throughFFmpeg is what ffmpeg makes of buf, in 64 bits.
func throughFFmpeg(t *testing.T, ffmpeg, filter string, buf []dsp.Frame) []dsp.Frame {
	t.Helper()
	var in, out, trouble bytes.Buffer
	if err := binary.Write(&in, binary.LittleEndian, buf); err != nil {
		t.Fatal(err)
	}
	args := strings.Fields("-v error -f f64le -ar 48000 -ac 2 -i pipe:0 -af FILTER -f f64le pipe:1")
	args[11] = filter
	cmd := exec.Command(ffmpeg, args...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = &in, &out, &trouble
	if err := cmd.Run(); err != nil {
		t.Fatalf("ffmpeg -af %s: %v\n%s", filter, err, trouble.Bytes())
	}
	frames := make([]dsp.Frame, out.Len()/16)
	if err := binary.Read(&out, binary.LittleEndian, frames); err != nil {
		t.Fatal(err)
	}
	return frames
}
