package scene

import "slices"

// filters are what the list can be cut down to: "" for all first.
func (m *materials) filters() []string {
	filters := []string{"", "own", "built in"}
	for _, k := range m.known {
		for _, label := range slices.Concat(k.Collections, k.Tags) {
			if !slices.Contains(filters, label) {
				filters = append(filters, label)
			}
		}
	}
	slices.Sort(filters[3:])
	return filters
}

// listed are the materials that the filter shows.
func (m *materials) listed() (shown []Material) {
	for _, k := range m.known {
		own := k.Path != ""
		if m.filter == "" || m.filter == "own" && own || m.filter == "built in" && !own ||
			slices.Contains(k.Tags, m.filter) || slices.Contains(k.Collections, m.filter) {
			shown = append(shown, k)
		}
	}
	return shown
}

// turn takes the material of those listed that was used longest ago, so that a
// collection is practised on in turn.
func (m *materials) turn() {
	shown := slices.DeleteFunc(m.listed(), func(k Material) bool { return k.Missing })
	if len(shown) == 0 || m.st.desk.opening != nil {
		return
	}
	next := slices.MinFunc(shown, func(a, b Material) int { return a.LastUsed.Compare(b.LastUsed) })
	if m.inUse([]Material{next}) < 0 {
		m.st.take(next)
	}
}
