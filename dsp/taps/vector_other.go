//go:build !amd64

package taps

const vectors = false

const none = "taps: no vectors here"

func sum8(y *[2]float64, taps *float64, x *[2]float64, n int) { panic(none) }

func between8(y *[2]float64, taps, steps *float64, part float64, x *[2]float64, n int) { panic(none) }

func mirror8(dst *[2]float64, taps *float64, n int, x *[2]float64) { panic(none) }

func thin8(dst *[2]float64, taps *float64, n int, x *[2]float64) { panic(none) }

func quads4(y *[4]float64, weights *float64, x *[4]float64, n int) { panic(none) }

func walk8(dst *[2]float64, count int, rows *float64, n int, places float64, x *[2]float64, at, step float64) {
	panic(none)
}
