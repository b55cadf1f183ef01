package demo

import (
	"embed"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/mewkiz/flac"
)

//go:embed bank scores
var files embed.FS

// rateHz is the sample rate of the bank, and of everything rendered from it.
const rateHz = 48000

// manifest is the SHA-256 of every sample in the bank, by its path there.
func manifest() (map[string]string, error) {
	text, err := files.ReadFile("bank/manifest.tsv")
	if err != nil {
		return nil, err
	}
	hashes := map[string]string{}
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n")[1:] {
		path, rest, _ := strings.Cut(line, "\t")
		hashes[path], _, _ = strings.Cut(rest, "\t")
	}
	return hashes, nil
}

// track is the one or two channels of a recording, or of a source.
type track [][]float64

func newTrack(channels, frames int) track {
	t := make(track, channels)
	for c := range t {
		t[c] = make([]float64, frames)
	}
	return t
}

// channel is channel 1 or 2 alone, or all of them for 0.
func (t track) channel(side float64) track {
	if side == 0 {
		return t
	}
	return track{t[min(int(side), len(t))-1]}
}

// bankLimitsHz are the groups of the bank that end below 20 kHz, and where:
// the piano was delivered dark, the voice is from a lossy codec.
var bankLimitsHz = map[string]float64{"piano": 10000, "voice": 15000}

// bankLimitHz is where a recording ends, 0 where it does not.
func bankLimitHz(path string) float64 {
	group, _, _ := strings.Cut(path, "/")
	return bankLimitsHz[group]
}

// sampleChannels is how many channels a sample has, as its header says.
func sampleChannels(path string) (int, error) {
	f, err := files.Open("bank/" + path)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	stream, err := flac.New(f)
	if err != nil {
		return 0, err
	}
	return int(stream.Info.NChannels), nil
}

// readSample decodes one sample of the bank.
func readSample(path string) (track, error) {
	f, err := files.Open("bank/" + path)
	if err != nil {
		return nil, fmt.Errorf("there is no sample %s in the bank", path)
	}
	defer f.Close()
	stream, err := flac.New(f)
	if err != nil {
		return nil, fmt.Errorf("sample %s: %w", path, err)
	}
	if stream.Info.SampleRate != rateHz || stream.Info.NChannels > 2 {
		return nil, fmt.Errorf("sample %s: is not mono or stereo at %d Hz", path, rateHz)
	}
	s, err := readChannels(stream)
	if err != nil {
		return nil, fmt.Errorf("sample %s: %w", path, err)
	}
	return s, nil
}

func readChannels(stream *flac.Stream) (track, error) {
	s := make(track, stream.Info.NChannels)
	for c := range s {
		s[c] = make([]float64, 0, min(stream.Info.NSamples, maxS*rateHz))
	}
	scale := math.Ldexp(1, 1-int(stream.Info.BitsPerSample))
	for {
		block, err := stream.ParseNext()
		switch {
		case errors.Is(err, io.EOF) && len(s[0]) > 0:
			return s, nil
		case err != nil:
			return nil, err
		}
		for c := range s {
			for _, v := range block.Subframes[c].Samples {
				s[c] = append(s[c], float64(v)*scale)
			}
		}
	}
}
