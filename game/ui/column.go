package ui

// Gap is the space between the items of a Row or Column.
type Gap uint8

const (
	Normal Gap = iota // 16 px
	Tight             // 8 px
	Wide              // 32 px
	Joined            // none
)

var gaps = [...]float64{Normal: 16, Tight: 8, Wide: 32, Joined: 0}

// Column arranges items downwards, each as wide as the column. Those in a
// Grow share the height that is left.
type Column struct {
	Items []Item
	Gap   Gap
}

// Grow lets an item take what room its Row or Column has left. In a Row it is
// content with 20 em.
type Grow struct{ Item Item }

func (g Grow) width(p *pass) float64             { return min(g.Item.width(p), 20*p.em(Body)) }
func (g Grow) height(p *pass, w float64) float64 { return g.Item.height(p, w) }
func (g Grow) draw(p *pass, r Rect)              { p.place(g.Item, r) }
func (g Grow) say(s *speech)                     { g.Item.say(s) }

func (c Column) width(p *pass) float64 {
	w := 0.0
	for _, it := range c.Items {
		w = max(w, it.width(p))
	}
	return w
}

func (c Column) height(p *pass, w float64) float64 {
	h := c.gaps()
	for _, it := range c.Items {
		h += it.height(p, w)
	}
	return h
}

func (c Column) gaps() float64 { return gaps[c.Gap] * float64(max(0, len(c.Items)-1)) }

func (c Column) draw(p *pass, r Rect) {
	var few [16]float64
	heights, total := few[:0], c.gaps()
	for _, it := range c.Items {
		h := it.height(p, r.W)
		heights = append(heights, h)
		total += h
	}
	spread(c.Items, heights, r.H-total)
	for i, it := range c.Items {
		p.place(it, Rect{r.X, r.Y, r.W, heights[i]})
		r.Y += heights[i] + gaps[c.Gap]
	}
}

func (c Column) say(s *speech) {
	for _, it := range c.Items {
		it.say(s)
	}
}

// spread shares what is left among those that grow, in whole pixels.
func spread(items []Item, lengths []float64, left float64) {
	n := 0
	for _, it := range items {
		if _, ok := it.(Grow); ok {
			n++
		}
	}
	for i, it := range items {
		if _, ok := it.(Grow); ok && left > 0 {
			part := float64(int(left) / n)
			lengths[i] += part
			left -= part
			n--
		}
	}
}
