package fault

import (
	"math"
	"math/rand/v2"

	"strop/dsp"
)

const noiseBlock = 256

// noise adds filtered Gaussian noise, the channels independent.
type noise struct {
	ratio    float64 // 0: nothing is added
	sections []section
	seed     [2]uint64
	source   *rand.PCG
	random   *rand.Rand
	work     []dsp.Frame
}

var _ dsp.Processor = (*noise)(nil)

// newNoise is noise whose level, of what lies between two frequencies, is that
// of the setting. word tells the noises of one seed apart.
func newNoise(rateHz float64, s dsp.Setting, word uint64, loHz, hiHz float64, sections ...section) *noise {
	n := &noise{sections: sections, seed: [2]uint64{seedOf(s), word}, source: new(rand.PCG), work: make([]dsp.Frame, noiseBlock)}
	n.random = rand.New(n.source)
	if s.Get(fullDB) > fullDB.Min {
		// Noise of variance v reads 10·log10(2v) dBFS.
		n.ratio = dsp.FromDB(s.Get(fullDB)) / math.Sqrt(2*n.variance(rateHz, loHz, hiHz))
	}
	n.Reset()
	return n
}

// variance is that of filtered white noise of variance 1 between two
// frequencies: ∫|H|²·df over half the rate, by octaves.
func (n *noise) variance(rateHz, loHz, hiHz float64) (sum float64) {
	const steps = 2000
	hiHz = min(hiHz, rateHz/2)
	ratio := math.Pow(hiHz/loHz, 1.0/steps)
	for i := range steps {
		from := loHz * math.Pow(ratio, float64(i))
		power := (ratio - 1) * from / (rateHz / 2)
		for k := range n.sections {
			power *= n.sections[k].power(2 * math.Pi * from * math.Sqrt(ratio) / rateHz)
		}
		sum += power
	}
	return sum
}

// Reset begins the noise anew.
func (n *noise) Reset() {
	n.source.Seed(n.seed[0], n.seed[1])
	for i := range n.sections {
		n.sections[i].reset()
	}
}

// Process adds to buf in place.
func (n *noise) Process(buf []dsp.Frame) {
	if n.ratio == 0 {
		return
	}
	for len(buf) > noiseBlock {
		n.add(buf[:noiseBlock])
		buf = buf[noiseBlock:]
	}
	n.add(buf)
}

func (n *noise) add(buf []dsp.Frame) {
	random, ratio, work := n.random, n.ratio, n.work[:len(buf)]
	for i := range work {
		work[i] = dsp.Frame{random.NormFloat64(), random.NormFloat64()}
	}
	for i := range n.sections {
		n.sections[i].process(work)
	}
	for i, y := range work {
		buf[i][0] += ratio * y[0]
		buf[i][1] += ratio * y[1]
	}
}
