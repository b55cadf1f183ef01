package desk

import (
	"fmt"
	"os"
	"path/filepath"
)

// Unkept is how many answers are held in memory, and why the history does not
// take them; nil where it does.
func (d *Desk) Unkept() (answers int, why error) {
	if held := d.History.Held(); held != nil {
		return held.Count, held.Reason
	}
	return 0, nil
}

// Rescue writes the answers that the history could not take, if there are any,
// to a new file in the first of some folders that takes it, and returns a
// sentence that says where they are, "" where there is nothing to save.
// Without folders it tries the working folder, the user's own, and the one for
// temporary files, unless all were saved before.
func (d *Desk) Rescue(folders ...string) (told string, err error) {
	held := d.History.Held()
	if held == nil || held.Count == 0 || len(folders) == 0 && held.Count == d.rescued {
		return "", nil
	}
	if len(folders) == 0 {
		home, _ := os.UserHomeDir() // without one, that of temporary files
		folders = []string{".", home, os.TempDir()}
	}
	name := "strop-answers-" + d.Clock().UTC().Format("20060102T150405Z") + ".json"
	for _, folder := range folders {
		if folder == "" {
			continue
		}
		path, _ := filepath.Abs(filepath.Join(folder, name)) // fails only without a working folder; then Save does
		if err = d.History.Save(path); err == nil {
			d.rescued = held.Count
			return fmt.Sprintf("%v. Saved as %s, which strop import reads.", held, path), nil
		}
	}
	return "", fmt.Errorf("%v, and they could be saved nowhere: %w", held, err)
}
