package content

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Load opens the file at path, and starts to decode it. The hash of its
// content is its identity, its base name the name. It ends early when ctx is
// done.
func Load(ctx context.Context, path string) (*Material, error) {
	hash, err := Hash(path)
	if err != nil {
		return nil, err
	}
	return load(ctx, path, hash)
}

func load(ctx context.Context, path, hash string) (*Material, error) {
	file, err := Open(path)
	if err != nil {
		return nil, err
	}
	return Start(ctx, filepath.Base(path), hash, unnamed{file})
}

// unnamed is a File whose errors do not begin with its name: those of a
// Material do already.
type unnamed struct{ *File }

func (u unnamed) Err() error { return errors.Unwrap(u.File.Err()) }

// ErrMoved says that a material is not where it was.
var ErrMoved = errors.New("say where it is now")

// Reference is what is remembered of a material: enough to open it again, and
// to know it again after it was moved or renamed.
type Reference struct {
	Path string `json:"path"` // where it was last seen
	Hash string `json:"hash"` // of its content
}

// Load opens the material where it was last seen. The error wraps ErrMoved
// where the file is gone, or another one has taken its place.
func (r Reference) Load(ctx context.Context) (*Material, error) {
	_, m, err := r.LoadFrom(ctx, r.Path)
	return m, err
}

// LoadFrom opens the material from a new place, where somebody says it is now.
// The Reference that is returned remembers that place. The error wraps
// ErrMoved where it is not there either.
func (r Reference) LoadFrom(ctx context.Context, path string) (Reference, *Material, error) {
	name := filepath.Base(r.Path)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return r, nil, fmt.Errorf("%s is not at %s any more: %w", name, path, ErrMoved)
	}
	hash, err := Hash(path)
	switch {
	case err != nil:
		return r, nil, err
	case hash != r.Hash:
		return r, nil, fmt.Errorf("%s at %s is not the file that was used before: %w", name, path, ErrMoved)
	}
	m, err := load(ctx, path, hash)
	return Reference{Path: path, Hash: hash}, m, err
}

// Open opens the material, a file or a folder of stems, from a place where it
// is now. The Reference that is returned remembers that place. The error wraps
// ErrMoved where it is not there.
func (r Reference) Open(ctx context.Context, path string, keep Keeper) (Reference, *Multitrack, error) {
	name := filepath.Base(r.Path)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return r, nil, fmt.Errorf("%s is not at %s any more: %w", name, path, ErrMoved)
	}
	m, err := OpenMultitrack(ctx, path, keep)
	if err != nil {
		return r, nil, err
	}
	if m.Sheet().Hash != r.Hash {
		err := fmt.Errorf("%s at %s is not what was used before: %w", name, path, ErrMoved)
		return r, nil, errors.Join(err, m.Close())
	}
	return Reference{Path: path, Hash: r.Hash}, m, nil
}
