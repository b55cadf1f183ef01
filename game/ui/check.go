package ui

import (
	"errors"
	"fmt"
)

// Check reports what a page should not hold: two items with one ID, a button
// without a name, a table row with a cell too many or too few, a key bound
// twice, a focus that is not there. Scenes are tested with it.
func (f *Frame) Check() error {
	var errs []error
	seen := map[string]bool{}
	for _, b := range f.Boxes {
		errs = append(errs, checkRows(b.item))
		if b.ID != "" && seen[b.ID] {
			errs = append(errs, fmt.Errorf("two items have the ID %q", b.ID))
		}
		seen[b.ID] = true
		if button, ok := b.item.(Button); ok && button.Label == "" && button.Mark == NoMark {
			errs = append(errs, fmt.Errorf("button %q has neither label nor mark", b.ID))
		}
	}
	keys := map[Key]string{}
	for _, b := range f.page.Keys {
		for _, k := range b.Keys {
			if before, ok := keys[k]; ok {
				errs = append(errs, fmt.Errorf("key %s is bound to %q and to %q", k.Label(), before, b.ID))
			}
			keys[k] = b.ID
		}
	}
	if f.focus != "" && !seen[f.focus] {
		errs = append(errs, fmt.Errorf("focus %q is not on the page", f.focus))
	}
	return errors.Join(errs...)
}

func checkRows(it Item) error {
	t, ok := it.(Table)
	if !ok {
		return nil
	}
	for i, row := range t.Rows {
		if len(row) != len(t.Columns) {
			return fmt.Errorf("table %q: row %d has %d cells for %d columns", t.ID, i, len(row), len(t.Columns))
		}
	}
	return nil
}
