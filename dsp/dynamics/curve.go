package dynamics

import "math"

// CurveDB is the level out of a compressor for a steady level in:
//
//	y = x                                       for 2(x−T) < −W
//	y = x + (1/R − 1)·(x − T + W/2)²/(2W)       inside the knee
//	y = T + (x − T)/R                           above it
//
// ratio ≥ 1, +Inf for a limiter; kneeDB ≥ 0, the whole width, 0 for none. At
// the threshold a knee of W takes (1 − 1/R)·W/8.
//
// Source: D. Giannoulis, M. Massberg, J. D. Reiss, Digital dynamic range
// compressor design, JAES 60(6) (2012), eq. 4.
func CurveDB(x, thresholdDB, ratio, kneeDB float64) float64 {
	return x - (1-1/ratio)*rampDB(x-thresholdDB, kneeDB)
}

// ExpandDB is the level out of an expander: the curve of a compressor turned
// over, y = T + (x − T)·R below the threshold. ratio ≥ 1. Source: as CurveDB.
func ExpandDB(x, thresholdDB, ratio, kneeDB float64) float64 {
	return x - (ratio-1)*rampDB(thresholdDB-x, kneeDB)
}

// UpwardDB is the level out of an upward compressor without a cap:
// y = T + (x − T)/R below the threshold. ratio ≥ 1. Source: as CurveDB.
func UpwardDB(x, thresholdDB, ratio, kneeDB float64) float64 {
	return x + (1-1/ratio)*rampDB(thresholdDB-x, kneeDB)
}

// rampDB is 0 below the knee, a parabola across it, and overDB above.
func rampDB(overDB, kneeDB float64) float64 {
	switch {
	case 2*overDB <= -kneeDB:
		return 0
	case 2*overDB < kneeDB:
		return (overDB + kneeDB/2) * (overDB + kneeDB/2) / (2 * kneeDB)
	}
	return overDB
}

// knee is slope times the ramp, in doublings, as a function of the distance
// from where the knee starts.
type knee struct {
	start float64 // the level there
	width float64
	bend  float64 // slope/(2·width)
	slope float64
	half  float64 // slope·width/2
}

// kneeAbove starts under the threshold and acts on what is above it.
func kneeAbove(thresholdDB, kneeDB, slope float64) knee {
	k := knee{start: (thresholdDB - kneeDB/2) / doublingDB, width: kneeDB / doublingDB, slope: slope}
	k.half = slope * k.width / 2
	if k.width > 0 {
		k.bend = slope / (2 * k.width)
	}
	return k
}

// kneeBelow starts over the threshold and acts on what is below it.
func kneeBelow(thresholdDB, kneeDB, slope float64) knee {
	k := kneeAbove(thresholdDB, kneeDB, slope)
	k.start += k.width
	return k
}

// at is the reduction at distance d from the start.
func (k *knee) at(d float64) float64 {
	switch {
	case d <= 0:
		return 0
	case d < k.width:
		return d * d * k.bend
	}
	return d*k.slope - k.half
}

// above replaces each level by the reduction it asks for.
func (k *knee) above(levels []float64) {
	c := *k
	for i, x := range levels {
		levels[i] = c.at(x - c.start)
	}
}

// below is above for levels under the threshold, no reduction above most.
func (k *knee) below(levels []float64, most float64) {
	c := *k
	for i, x := range levels {
		levels[i] = min(c.at(c.start-x), most)
	}
}

// outKnee is the curve of a compressor seen from its output: the reduction
// that belongs to a level out. A feedback compressor that asks for it settles
// on CurveDB. From v = u − k·u², k = (1 − 1/R)/(2W), for the distances u in
// and v out from where the knee starts:
//
//	u = 2v/(1 + √(1 − 4kv))        inside the knee
//	reduction = u − v; above it (R − 1) dB more per dB out
type outKnee struct {
	start float64
	width float64 // of the knee, at the output
	bend  float64 // 4k
	slope float64 // R − 1
	top   float64 // the reduction at the end of the knee
	share float64 // 1/R
}

func newOutKnee(thresholdDB, kneeDB, ratio float64) outKnee {
	w := kneeDB / doublingDB
	k := outKnee{
		start: thresholdDB/doublingDB - w/2,
		width: w * (1 + 1/ratio) / 2,
		slope: ratio - 1,
		top:   w * (1 - 1/ratio) / 2,
		share: 1 / ratio,
	}
	if w > 0 {
		k.bend = 2 * (1 - 1/ratio) / w
	}
	return k
}

// at is the reduction for a level out, and by how much of it a feedback loop
// moves there: 1/(1 + slope of the curve), so that the loop is as fast
// everywhere as it is open.
func (k *outKnee) at(level float64) (reduction, share float64) {
	v := level - k.start
	switch {
	case v <= 0:
		return 0, 1
	case v < k.width:
		root := math.Sqrt(1 - k.bend*v)
		return 2*v/(1+root) - v, root
	}
	return k.top + k.slope*(v-k.width), k.share
}
