package content

import "sync"

// KeptFit is what was measured of a stem in a loop, to be kept.
type KeptFit struct {
	Loop  Loop   `json:"loop"`
	Stem  string `json:"stem"` // name
	Fader Fader  `json:"fader"`
	Fit   Fit    `json:"fit"`
}

type fitKey struct {
	loop Loop
	stem string
}

// fits are those of a material.
type fits struct {
	mu  sync.Mutex
	all map[fitKey]KeptFit
}

func newFits(kept []KeptFit) *fits {
	f := &fits{all: map[fitKey]KeptFit{}}
	for _, k := range kept {
		f.all[fitKey{k.Loop, k.Stem}] = k
	}
	return f
}

// find gives what was measured through the same fader.
func (f *fits) find(loop Loop, stem string, fader Fader) (Fit, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	k, ok := f.all[fitKey{loop, stem}]
	return k.Fit, ok && k.Fader == fader
}

func (f *fits) put(loop Loop, stem string, fader Fader, fit Fit) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.all[fitKey{loop, stem}] = KeptFit{loop, stem, fader, fit}
}

// Fits is everything that was measured of loops so far, in no order: what a
// library keeps, and gives back in Kept.
func (m *Multitrack) Fits() []KeptFit {
	m.fits.mu.Lock()
	defer m.fits.mu.Unlock()
	all := make([]KeptFit, 0, len(m.fits.all))
	for _, k := range m.fits.all {
		all = append(all, k)
	}
	return all
}
