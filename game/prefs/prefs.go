// Package prefs is what the program remembers of how its listener wants it:
// look, sound, window. It is kept as settings in the history, a key each.
package prefs

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"
)

// Prefs are the preferences.
type Prefs struct {
	Night        bool      // dark leather instead of paper
	TextScale    float64   // 1 to 2
	Still        bool      // nothing moves by itself
	Transducer   string    // "headphones", "loudspeakers", "unstated"
	Device       string    // the sound card; "": the system's
	RateHz       float64   // of the sound card; 0: the material's
	PeriodFrames int       // of the sound card's buffer; 0: the usual
	LevelDB      float64   // of everything that is played, 0 or below
	LevelSet     time.Time // when the listening level was set; zero: never
	Trials       int       // of a sitting
	Minutes      int       // of the plan of the day
	Drill        string    // the ID of the drill that is practised; "": the plan of the day
	Window       Window
}

// Window is where the window was: all zero where that is not known.
type Window struct{ X, Y, Width, Height int }

// Default is what a newcomer gets.
func Default() Prefs { return Prefs{TextScale: 1, Transducer: "unstated", Trials: 20, Minutes: 15} }

// Store keeps settings.
type Store interface {
	Get(ctx context.Context, key string) (value string, ok bool, err error)
	Put(ctx context.Context, key, value string) error
}

// field is how one preference is written and read.
type field struct {
	key  string
	text func(p *Prefs) string
	read func(p *Prefs, text string) error
}

// fields are all preferences. Keys never change.
var fields = []field{
	kept("night", func(p *Prefs) *bool { return &p.Night }, strconv.FormatBool, strconv.ParseBool),
	kept("still", func(p *Prefs) *bool { return &p.Still }, strconv.FormatBool, strconv.ParseBool),
	kept("textScale", func(p *Prefs) *float64 { return &p.TextScale }, formatNumber, within(1, 2, parseNumber)),
	kept("levelDB", func(p *Prefs) *float64 { return &p.LevelDB }, formatNumber, within(-60, 0, parseNumber)),
	kept("rateHz", func(p *Prefs) *float64 { return &p.RateHz }, formatNumber, within(0, 384000, parseNumber)),
	kept("periodFrames", func(p *Prefs) *int { return &p.PeriodFrames }, strconv.Itoa, within(0, 8192, strconv.Atoi)),
	kept("trials", func(p *Prefs) *int { return &p.Trials }, strconv.Itoa, within(1, 1000, strconv.Atoi)),
	kept("transducer", func(p *Prefs) *string { return &p.Transducer }, asIs, parseAsIs),
	kept("minutes", func(p *Prefs) *int { return &p.Minutes }, strconv.Itoa, within(1, 600, strconv.Atoi)),
	kept("drill", func(p *Prefs) *string { return &p.Drill }, asIs, parseAsIs),
	kept("device", func(p *Prefs) *string { return &p.Device }, asIs, parseAsIs),
	kept("levelSetAt", func(p *Prefs) *time.Time { return &p.LevelSet }, formatTime, parseTime),
	kept("window", func(p *Prefs) *Window { return &p.Window }, formatWindow, parseWindow),
}

func kept[T any](key string, at func(*Prefs) *T, format func(T) string, parse func(string) (T, error)) field {
	read := func(p *Prefs, text string) error {
		v, err := parse(text)
		if err == nil {
			*at(p) = v
		}
		return err
	}
	return field{key, func(p *Prefs) string { return format(*at(p)) }, read}
}

func within[T cmp.Ordered](lo, hi T, parse func(string) (T, error)) func(string) (T, error) {
	return func(text string) (T, error) {
		v, err := parse(text)
		if err == nil && !(v >= lo && v <= hi) {
			err = fmt.Errorf("%v is outside %v to %v", v, lo, hi)
		}
		return v, err
	}
}

func asIs(text string) string               { return text }
func parseAsIs(text string) (string, error) { return text, nil }
func formatNumber(v float64) string         { return strconv.FormatFloat(v, 'g', -1, 64) }
func parseNumber(s string) (float64, error) { return strconv.ParseFloat(s, 64) }

func formatTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}

func parseTime(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	return time.Parse(time.RFC3339, text)
}

func formatWindow(w Window) string { return fmt.Sprintf("%d %d %d %d", w.X, w.Y, w.Width, w.Height) }

func parseWindow(text string) (w Window, err error) {
	_, err = fmt.Sscan(text, &w.X, &w.Y, &w.Width, &w.Height)
	return w, err
}

// Load reads what is remembered. What cannot be read is as for a newcomer, and
// the error says so.
func Load(ctx context.Context, store Store) (Prefs, error) {
	p := Default()
	var errs []error
	for _, f := range fields {
		text, ok, err := store.Get(ctx, f.key)
		if err == nil && ok {
			err = f.read(&p, text)
		}
		if err != nil {
			errs = append(errs, fmt.Errorf("the setting %s cannot be read: %w", f.key, err))
		}
	}
	return p, errors.Join(errs...)
}

// Save remembers what differs from before.
func (p Prefs) Save(ctx context.Context, store Store, before Prefs) error {
	var errs []error
	for _, f := range fields {
		if text := f.text(&p); text != f.text(&before) {
			errs = append(errs, store.Put(ctx, f.key, text))
		}
	}
	return errors.Join(errs...)
}
