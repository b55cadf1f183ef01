package main

//lint:file-ignore SA1019 frames drawn only when asked for are what keeps the window idle; nothing newer does that

import (
	"cmp"
	"context"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"strop/game/live"
	"strop/game/prefs"
	"strop/game/scene"
	"strop/game/ui"
	"strop/game/ui/raster"
)

// The smallest window that pages are made for, and the first one.
const (
	leastWidth, leastHeight = 900, 600
	usualWidth, usualHeight = 1280, 800
)

var windowLife = context.Background()

// window shows a stage and hands it what the user does. It draws only when
// something has changed, and sleeps otherwise.
type window struct {
	stage  *scene.Stage
	fonts  *raster.Fonts
	canvas *raster.Canvas
	frame  *ui.Frame
	state  ui.State
	view   ui.View
	scale  float64 // device pixels to a logical one
	night  bool
	title  string
	input  input
	alarm  *time.Timer
	due    time.Time // of the next frame of what moves
	stale  bool      // the screen has lost its picture
	pixels []byte
	times  *times
}

var (
	_ ebiten.Game              = (*window)(nil)
	_ ebiten.LayoutFer         = (*window)(nil)
	_ ebiten.FinalScreenDrawer = (*window)(nil)
)

func newWindow(l *live.Live, o options, began time.Time) (*window, error) {
	fonts, err := raster.NewFonts()
	if err != nil {
		return nil, err
	}
	w := &window{
		stage: scene.New(l.World(), ebiten.ScheduleFrame), fonts: fonts, canvas: raster.NewCanvas(fonts),
		view: ui.View{WidthPx: usualWidth, HeightPx: usualHeight, TextScale: 1}, scale: 1, night: o.Night,
	}
	w.alarm = time.AfterFunc(never, w.ring)
	if o.Times {
		w.times = newTimes(l.Room, began)
	}
	w.place(w.stage.Prefs().Window, o.Screen)
	return w, nil
}

// place puts the window where it was.
func (w *window) place(was prefs.Window, asked geometry) {
	width, height := usualWidth, usualHeight
	if was.Width >= leastWidth && was.Height >= leastHeight {
		width, height = was.Width, was.Height
		ebiten.SetWindowPosition(was.X, was.Y)
	}
	if asked.width > 0 {
		width, height = asked.width, asked.height
	}
	ebiten.SetWindowSize(width, height)
	ebiten.SetWindowSizeLimits(leastWidth, leastHeight, -1, -1)
	ebiten.SetWindowResizingMode(ebiten.WindowResizingModeEnabled)
	ebiten.SetWindowIcon(icons())
	ebiten.SetWindowClosingHandled(true)
	ebiten.SetScreenClearedEveryFrame(false)
	ebiten.SetFPSMode(ebiten.FPSModeVsyncOffMinimum)
}

func (w *window) run() error {
	defer w.stage.Close()
	return ebiten.RunGameWithOptions(w, &ebiten.RunGameOptions{X11ClassName: "strop", X11InstanceName: "strop", SingleThread: true})
}

// Update takes what happened since the last time.
func (w *window) Update() error {
	now := time.Now()
	w.times.update()
	if w.stage.Ended() || ebiten.IsWindowBeingClosed() {
		w.remember()
		w.times.print()
		return ebiten.Termination
	}
	again := w.stage.Tick(now)
	w.layout()
	for _, e := range w.input.events(now, w.scale) {
		w.handle(e)
	}
	if len(w.input.seen) > 0 {
		again = w.stage.Tick(now)
		w.layout()
	}
	w.wakeIn(now, min(again, w.input.again(now), w.times.again()))
	return nil
}

func (w *window) handle(e ui.Event) {
	var a ui.Action
	w.state, a = w.frame.Handle(e)
	if a.Kind != ui.Nothing {
		w.times.act(a)
		w.stage.Do(a)
	}
	w.layout()
}

// layout lays the page out as it is now.
func (w *window) layout() {
	p := w.stage.Prefs()
	w.view.TextScale, w.view.Still = p.TextScale, p.Still
	page := w.stage.Page()
	w.frame = ui.Layout(page, w.view, w.state, w.fonts)
	w.state = w.frame.State()
	w.point()
	if title := cmp.Or(page.Question, page.Title) + " · strop"; title != w.title {
		w.title = title
		ebiten.SetWindowTitle(title)
	}
}

// point shows a hand over what can be touched.
func (w *window) point() {
	shape := ebiten.CursorShapeDefault
	if w.state.Hover != "" {
		shape = ebiten.CursorShapePointer
	}
	if shape != ebiten.CursorShape() {
		ebiten.SetCursorShape(shape)
	}
}

// wakeIn asks for another frame. What moves is drawn sixty times a second,
// counted from where it was due, not from when it came.
func (w *window) wakeIn(now time.Time, d time.Duration) {
	if w.due = w.due.Add(d); w.due.Before(now) || w.due.After(now.Add(d)) {
		w.due = now.Add(d)
	}
	w.alarm.Reset(w.due.Sub(now))
}

// insist is how long after an alarm the next one follows that Update has not
// reset: one that comes while the first frame is on its way is lost.
const insist = 50 * time.Millisecond

func (w *window) ring() {
	ebiten.ScheduleFrame()
	w.alarm.Reset(insist)
}

// remember keeps where the window is.
func (w *window) remember() {
	p := w.stage.Prefs()
	p.Window.X, p.Window.Y = ebiten.WindowPosition()
	p.Window.Width, p.Window.Height = ebiten.WindowSize()
	w.stage.Prefer(p)
}

// theme is the colours of the page.
func (w *window) theme() ui.Theme {
	if w.night || w.stage.Prefs().Night {
		return ui.Night
	}
	return ui.Day
}

// Draw brings what has changed to the screen.
func (w *window) Draw(screen *ebiten.Image) {
	part := w.canvas.Show(w.frame, w.theme(), w.scale)
	if w.stale {
		part, w.stale = w.canvas.Image().Rect, false
	}
	if part = part.Intersect(screen.Bounds()); part.Empty() {
		return
	}
	w.pixels = raster.Pixels(w.pixels[:0], w.canvas.Image(), part)
	screen.SubImage(part).(*ebiten.Image).WritePixels(w.pixels)
	w.times.drew(w.frame)
}

// DrawFinalScreen copies the picture, which is opaque and of the screen's own
// size.
func (w *window) DrawFinalScreen(screen ebiten.FinalScreen, picture *ebiten.Image, place ebiten.GeoM) {
	screen.DrawImage(picture, &ebiten.DrawImageOptions{GeoM: place, Blend: ebiten.BlendCopy})
}

// LayoutF makes the screen as fine as the monitor.
func (w *window) LayoutF(widthPx, heightPx float64) (float64, float64) {
	scale := ebiten.Monitor().DeviceScaleFactor()
	if widthPx != w.view.WidthPx || heightPx != w.view.HeightPx || scale != w.scale || w.frame == nil {
		w.view.WidthPx, w.view.HeightPx, w.scale, w.stale = widthPx, heightPx, scale, true
	}
	return widthPx * scale, heightPx * scale
}

// Layout is never called where there is a LayoutF.
func (w *window) Layout(width, height int) (int, int) { return width, height }
