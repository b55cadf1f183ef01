package live

import (
	"context"
	"math"

	"strop/content"
	"strop/content/intake"
	"strop/drills"
	"strop/dsp/measure"
	"strop/game/scene"
)

// decided is what is remembered of a song beside its roles and faders.
type decided struct {
	favourites        []drills.Loop
	tags, collections []string
}

// decided reads it.
func (lib library) decided(ctx context.Context, hash string) (d decided, err error) {
	if d.favourites, err = lib.l.Favourites(ctx, hash); err != nil {
		return d, err
	}
	entries, err := lib.l.Desk.Library(ctx)
	for _, e := range entries {
		if e.Hash == hash {
			d.tags, d.collections = e.Tags, e.Collections
		}
	}
	return d, err
}

// Sheet is the track sheet, and what was decided.
func (s *song) Sheet() (scene.Sheet, bool) {
	s.mu.Lock()
	d := s.decided
	s.mu.Unlock()
	sheet := s.Tracks.Sheet()
	out := scene.Sheet{Favourites: d.favourites, Tags: d.tags, Collections: d.collections, Warnings: sheet.Warnings}
	for _, r := range content.Roles {
		out.Roles = append(out.Roles, string(r))
	}
	for i, st := range sheet.Stems {
		stem := scene.Stem{Name: st.Name, Role: string(st.Role), RoleFrom: string(st.RoleFrom), Channels: st.Channels}
		if i < len(sheet.Faders) {
			stem.Fader = scene.Fader(sheet.Faders[i])
		}
		out.Stems = append(out.Stems, stem)
	}
	return out, s.Tracks.Prepared() >= 1
}

// Mixed is a loop through other faders.
func (s *song) Mixed(ctx context.Context, faders []scene.Fader, loS, hiS float64) (drills.Clip, error) {
	through := make([]content.Fader, len(faders))
	for i, f := range faders {
		through[i] = content.Fader(f)
	}
	rateHz := s.Material.RateHz()
	loop := drills.Loop{Material: s.Material.Hash(), StartFrame: int(math.Round(loS * rateHz)), RateHz: rateHz}
	loop.Frames = int(math.Round(hiS*rateHz)) - loop.StartFrame
	frames, err := s.Tracks.MixRegion(ctx, through, int64(loop.StartFrame), loop.Frames)
	if err != nil {
		return drills.Clip{}, err
	}
	return drills.Clip{Loop: loop, Frames: frames, Facts: measure.FactsOf(frames, rateHz)}, nil
}

// Decide keeps what was decided, of the faders and roles only what is not as
// the song was opened.
func (s *song) Decide(ctx context.Context, sheet scene.Sheet) error {
	now := s.Tracks.Sheet()
	roles, faders, moved := map[string]content.Role{}, map[string]content.Fader{}, false
	for i, st := range sheet.Stems {
		if st.RoleFrom == string(content.FromUser) {
			roles[st.Name] = content.Role(st.Role)
		}
		faders[st.Name] = content.Fader(st.Fader)
		moved = moved || i < len(now.Faders) && now.Faders[i] != content.Fader(st.Fader)
	}
	d := s.desk
	if len(roles) > 0 {
		if err := d.KeepRoles(ctx, now.Hash, roles); err != nil {
			return err
		}
	}
	if moved {
		if err := d.KeepFaders(ctx, now.Hash, faders); err != nil {
			return err
		}
	}
	if err := d.KeepFavourites(ctx, now.Hash, sheet.Favourites); err != nil {
		return err
	}
	if err := d.SetLabels(ctx, now.Hash, sheet.Tags, sheet.Collections); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.decided = decided{sheet.Favourites, sheet.Tags, sheet.Collections}
	return nil
}

// intakeColumns are those that a page has room for, of intake.Headings.
var intakeColumns = []int{0, 5, 3, 4, 6, 7, 8, 9}

// Intake looks the song over.
func (s *song) Intake(ctx context.Context, progress func(share float64)) (in scene.Intake, err error) {
	report, err := intake.Check(ctx, s.Tracks, progress)
	if err != nil {
		return in, err
	}
	in.Headings, in.Notes = pick(intake.Headings()), report.Notes
	for _, st := range report.Stems {
		in.Rows = append(in.Rows, pick(st.Cells()))
		of := append([]string{}, st.Notes...)
		if st.Tuning != nil {
			of = append(of, "Tuning: "+st.Tuning.Text()+" from A = 440 Hz.")
		}
		if st.Timing != nil {
			of = append(of, "Timing: "+st.Timing.Text()+" from the "+st.Timing.Against+".")
		}
		in.Of = append(in.Of, of)
	}
	for _, p := range report.Pairs {
		in.Notes = append(in.Notes, p.Text())
	}
	for _, a := range report.Alike {
		in.Notes = append(in.Notes, a.Text())
	}
	return in, nil
}

func pick(cells []string) (picked []string) {
	for _, i := range intakeColumns {
		picked = append(picked, cells[i])
	}
	return picked
}

var _ scene.Tracks = (*song)(nil)
