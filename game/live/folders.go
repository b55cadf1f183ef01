package live

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"

	"github.com/rymdport/portal/filechooser"

	"strop/game/scene"
)

// folders is the files of this machine.
type folders struct{ deaf atomic.Bool } // the system's dialogue did not answer

var _ scene.Folders = (*folders)(nil)

func newFolders() *folders { return &folders{} }

// suffixes are those of files that may be material. What a file is, its
// content decides; this only keeps a list short.
var suffixes = []string{
	".wav", ".wave", ".bwf", ".rf64", ".w64", ".aif", ".aiff", ".aifc", ".flac", ".ogg", ".oga", ".opus",
	".mp3", ".m4a", ".mp4", ".aac", ".caf", ".wv", ".wma", ".mka",
}

func (f *folders) List(folder string) (string, []scene.Entry, error) {
	path, err := whole(folder)
	if err != nil {
		return "", nil, err
	}
	all, err := os.ReadDir(path)
	if err != nil {
		return "", nil, fmt.Errorf("%s cannot be looked into: %w", path, reason(err))
	}
	var entries []scene.Entry
	for _, e := range all {
		if entry, ok := entryOf(path, e); ok {
			entries = append(entries, entry)
		}
	}
	slices.SortStableFunc(entries, foldersFirst)
	return path, entries, nil
}

// reason is what the system says, without the call and the path.
func reason(err error) error {
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		return pathErr.Err
	}
	return err
}

// whole is a path from the root; "" and "~" are the home folder.
func whole(folder string) (string, error) {
	if rest, ok := strings.CutPrefix(folder, "~"); ok || folder == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", errors.New("there is no home folder: type a path")
		}
		return filepath.Join(home, rest), nil
	}
	return filepath.Abs(folder)
}

func entryOf(path string, e fs.DirEntry) (scene.Entry, bool) {
	name := e.Name()
	info, err := os.Stat(filepath.Join(path, name)) // what a link leads to
	if err != nil || strings.HasPrefix(name, ".") {
		return scene.Entry{}, false
	}
	if info.IsDir() {
		return scene.Entry{Name: name, Folder: true}, true
	}
	ok := slices.Contains(suffixes, strings.ToLower(filepath.Ext(name)))
	return scene.Entry{Name: name, Aside: fmt.Sprintf("%.1f MB", float64(info.Size())/1e6)}, ok
}

func foldersFirst(a, b scene.Entry) int {
	switch {
	case a.Folder && !b.Folder:
		return -1
	case !a.Folder && b.Folder:
		return 1
	}
	return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name))
}

// HasDialogue reports whether there is a session bus to ask for one, and it
// has not failed to answer.
func (f *folders) HasDialogue() bool {
	if f.deaf.Load() {
		return false
	}
	if os.Getenv("DBUS_SESSION_BUS_ADDRESS") != "" {
		return true
	}
	_, err := os.Stat(filepath.Join(os.Getenv("XDG_RUNTIME_DIR"), "bus"))
	return err == nil && os.Getenv("XDG_RUNTIME_DIR") != ""
}

// Dialogue asks through the desktop portal.
func (f *folders) Dialogue(_ context.Context, title string) (string, error) {
	uris, err := filechooser.OpenFile("", title, nil)
	if err != nil {
		f.deaf.Store(true)
		return "", fmt.Errorf("the system has no dialogue for files (%w): use Open a file", err)
	}
	if len(uris) == 0 {
		return "", nil
	}
	u, err := url.Parse(uris[0])
	if err != nil || u.Scheme != "file" {
		return "", fmt.Errorf("%s is no file of this machine", uris[0])
	}
	return u.Path, nil
}
