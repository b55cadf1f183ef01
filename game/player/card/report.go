package card

import (
	"fmt"
	"strings"
)

// report is what miniaudio logs of a device when it opens it. It has no other
// way to tell what the device itself was granted.
type report struct {
	name         string
	rateHz       int // of the device; any other is resampled to it
	periodFrames int
	periods      int
	done         bool // the device is open; what is logged later is of no use
}

// read takes a line of the log in.
func (r *report) read(line string) {
	if r.done {
		return
	}
	line = strings.TrimSpace(line)
	var ours int
	if name, ok := strings.CutSuffix(line, " (Playback)"); ok {
		r.name = name
	}
	_, _ = fmt.Sscanf(line, "Sample Rate: %d -> %d", &ours, &r.rateHz)
	_, _ = fmt.Sscanf(line, "Buffer Size: %d*%d", &r.periodFrames, &r.periods)
}
