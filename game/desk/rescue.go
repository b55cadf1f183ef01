package desk

import (
	"fmt"
	"os"
	"path/filepath"
)

// Rescue writes the answers that the history could not take, if there are any,
// to a file in the first of some folders that takes it: by default the working
// folder, the user's own, and the one for temporary files. It returns a
// sentence that says where they are, "" where nothing was held.
func (d *Desk) Rescue(folders ...string) (told string, err error) {
	held := d.History.Held()
	if held == nil || held.Count == 0 {
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
			return fmt.Sprintf("%v. Saved as %s, which strop import reads.", held, path), nil
		}
	}
	return "", fmt.Errorf("%v, and they could be saved nowhere: %w", held, err)
}
