package main

import (
	"image"

	"strop/game/ui"
	"strop/game/ui/raster"
)

// icons are the window's: a peak filter's curve on a sheet over a rule.
func icons() (all []image.Image) {
	for _, size := range []float64{16, 32, 64, 128} {
		all = append(all, raster.Draw(drawing(), ui.Day, nil, 16, 16, size/16))
	}
	return all
}

func drawing() []ui.Command {
	clip := ui.Rect{W: 16, H: 16}
	box := func(x0, y0, x1, y1 float64) []ui.Point {
		return []ui.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
	}
	var curve []ui.Point
	for x := 1.5; x <= 14.5; x += 0.25 {
		oct := (x - 9) / 2
		curve = append(curve, ui.Point{X: x, Y: 11 - 8/(1+oct*oct)})
	}
	var ticks []ui.Point
	for x := 2.0; x < 15; x += 3 {
		ticks = append(ticks, ui.Point{X: x, Y: 13}, ui.Point{X: x, Y: 15})
	}
	return []ui.Command{
		{Op: ui.Fill, Ink: ui.Sheet, Path: box(0, 0, 16, 16), Clip: clip},
		{Op: ui.Stroke, Ink: ui.Oxblood, Path: curve, Width: 1.6, Clip: clip},
		{Op: ui.Fill, Ink: ui.Ink, Path: box(1, 12.5, 15, 13.2), Clip: clip},
		{Op: ui.Lines, Ink: ui.Ink, Path: ticks, Width: 0.8, Clip: clip},
	}
}
