package content

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Hash is the identity of a file: "sha256:" and the SHA-256 of all its bytes
// in hexadecimal. It reads the file once and keeps nothing of it.
func Hash(path string) (string, error) {
	sum, err := sum(path)
	if err != nil {
		var pathErr *fs.PathError // it names the whole path
		if errors.As(err, &pathErr) {
			err = pathErr.Err
		}
		return "", fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	return "sha256:" + hex.EncodeToString(sum), nil
}

func sum(path string) ([]byte, error) {
	// A pipe would keep os.Open waiting, and a device has no end: look before.
	if info, err := os.Stat(path); err == nil && !info.IsDir() && !info.Mode().IsRegular() {
		return nil, errors.New("it is not a regular file")
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return nil, err
	}
	return h.Sum(nil), nil
}
