package content

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Identify is the hash under which a file or a folder of stems is known,
// without opening it for good: that of Sheet after OpenMultitrack.
func Identify(ctx context.Context, path string) (hash string, err error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return "", fmt.Errorf("%s: %w", filepath.Base(path), pathless(err))
	case !info.IsDir():
		return Hash(path)
	}
	f, err := openFolder(ctx, path, nil)
	if err != nil {
		return "", err
	}
	return f.sheet.Hash, f.Close()
}

// IsSet reports whether the material is a folder of stems.
func (r Reference) IsSet() bool { return strings.HasPrefix(r.Hash, "stems:") }

// mostLooked is how many files and folders a search looks at before it gives
// up: a large music drive.
const mostLooked = 200_000

// FindAgain looks for a material below some folders, where it may have been
// moved or renamed, and is where it is: those of its old name first. The error
// wraps ErrMoved where it is not found. Links are not followed.
func (r Reference) FindAgain(ctx context.Context, roots ...string) (Reference, error) {
	var named, others []string
	left := mostLooked
	for _, root := range roots {
		r.collect(ctx, root, &left, &named, &others)
	}
	for _, path := range append(named, others...) {
		if ctx.Err() != nil {
			return r, ctx.Err()
		}
		if hash, err := Identify(ctx, path); err == nil && hash == r.Hash {
			return Reference{Path: path, Hash: hash}, nil
		}
	}
	return r, fmt.Errorf("%s was not found: %w", filepath.Base(r.Path), ErrMoved)
}

// collect gathers what may be the material: folders for a set, files of the
// same extension for a file.
func (r Reference) collect(ctx context.Context, root string, left *int, named, others *[]string) {
	_ = filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error { // what cannot be read is not searched
		if *left--; *left < 0 || ctx.Err() != nil {
			return errEnough
		}
		switch {
		case err != nil:
			return nil
		case d.IsDir() && path != root && strings.HasPrefix(d.Name(), "."):
			return filepath.SkipDir
		case d.IsDir() != r.IsSet() || !d.IsDir() && !strings.EqualFold(filepath.Ext(path), filepath.Ext(r.Path)):
		case d.Name() == filepath.Base(r.Path):
			*named = append(*named, path)
		default:
			*others = append(*others, path)
		}
		return nil
	})
}

var errEnough = errors.New("enough was looked at")
