package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"strop/content"
	"strop/drills"
	"strop/drills/sqlite"
)

// The words under which something is kept of a material.
const (
	keptRoles  = "roles"  // map[string]content.Role, by name of the stem
	keptFaders = "faders" // map[string]content.Fader
	keptFits   = "fits"   // []content.KeptFit
	keptLoops  = "loops"  // []drills.Loop, the favourites
	keptStems  = "stems"  // []StemLine
	keptPlaces = "places" // []string, where it was seen, the last first
)

// keeper gives what was kept to whoever opens a material.
func (d *Desk) keeper(ctx context.Context) content.Keeper {
	return func(hash string) (kept content.Kept, err error) {
		for what, into := range map[string]any{keptRoles: &kept.Roles, keptFaders: &kept.Faders, keptFits: &kept.Fits} {
			if _, err := d.History.Kept(ctx, hash, what, into); err != nil {
				return kept, err
			}
		}
		return kept, nil
	}
}

// KeepRoles keeps roles that somebody corrected, by name of the stem. They hold
// when the material is opened again.
func (d *Desk) KeepRoles(ctx context.Context, hash string, roles map[string]content.Role) error {
	return d.History.Keep(ctx, hash, keptRoles, roles)
}

// KeepFaders keeps the rough mix in the same way.
func (d *Desk) KeepFaders(ctx context.Context, hash string, faders map[string]content.Fader) error {
	return d.History.Keep(ctx, hash, keptFaders, faders)
}

// Favourites are the loops of a material that somebody liked.
func (d *Desk) Favourites(ctx context.Context, hash string) (loops []drills.Loop, err error) {
	_, err = d.History.Kept(ctx, hash, keptLoops, &loops)
	return loops, err
}

// KeepFavourites keeps them in place of those that were.
func (d *Desk) KeepFavourites(ctx context.Context, hash string, loops []drills.Loop) error {
	return d.History.Keep(ctx, hash, keptLoops, loops)
}

// longestLabel is how many characters a tag, or the name of a collection, has
// at most.
const longestLabel = 40

// checkLabel tells why a text is no label.
func checkLabel(name string) error {
	switch {
	case strings.TrimSpace(name) == "":
		return errors.New("a tag or collection needs a name")
	case utf8.RuneCountInString(name) > longestLabel:
		return fmt.Errorf("a tag or the name of a collection has at most %d characters", longestLabel)
	case strings.ContainsFunc(name, func(r rune) bool { return r == ',' || !unicode.IsPrint(r) }):
		return fmt.Errorf("%q cannot be a tag or collection: take letters, figures and spaces", name)
	}
	return nil
}

// SetLabels gives a material exactly these tags and collections.
func (d *Desk) SetLabels(ctx context.Context, hash string, tags, collections []string) error {
	for _, name := range slices.Concat(tags, collections) {
		if err := checkLabel(name); err != nil {
			return err
		}
	}
	var labels []sqlite.Label
	for _, name := range tags {
		labels = append(labels, sqlite.Label{Kind: sqlite.Tag, Name: name})
	}
	for _, name := range collections {
		labels = append(labels, sqlite.Label{Kind: sqlite.Collection, Name: name})
	}
	return d.History.SetLabels(ctx, hash, labels)
}
