package content

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
)

// How much of each stem its identity looks at: pieces spread evenly from the
// first byte to the last.
const (
	hashPieces     = 17
	hashPieceBytes = 1 << 14
)

// HashSet is the identity of a folder of stems: "stems:" and a SHA-256 over
// the base names, sizes, and 17 pieces of 16 KiB, of all files in the order of
// their names. Where the folder lies, and what it is called, does not matter.
// Files up to 272 KiB count whole. Two sets of the same names and sizes that
// differ only between the pieces are taken for one: reading gigabytes before
// the first sound is not worth telling them apart.
func HashSet(paths []string) (string, error) {
	paths = slices.Clone(paths)
	slices.SortFunc(paths, func(a, b string) int { return compareNames(filepath.Base(a), filepath.Base(b)) })
	sums, errs := make([][]byte, len(paths)), make([]error, len(paths))
	together(len(paths), func(i int) { sums[i], errs[i] = sumPieces(paths[i]) })
	all := sha256.New()
	for i, path := range paths {
		if errs[i] != nil {
			return "", fmt.Errorf("%s: %w", filepath.Base(path), pathless(errs[i]))
		}
		fmt.Fprintf(all, "%q %x\n", filepath.Base(path), sums[i])
	}
	return "stems:" + hex.EncodeToString(all.Sum(nil)), nil
}

// sumPieces is the SHA-256 of the size of a file and of pieces of it.
func sumPieces(path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return nil, err
	}
	h := sha256.New()
	size := info.Size()
	h.Write(binary.LittleEndian.AppendUint64(nil, uint64(size)))
	if size <= hashPieces*hashPieceBytes {
		_, err = io.Copy(h, file)
		return h.Sum(nil), err
	}
	piece := make([]byte, hashPieceBytes)
	for i := range int64(hashPieces) {
		if _, err := file.ReadAt(piece, (size-hashPieceBytes)*i/(hashPieces-1)); err != nil {
			return nil, err
		}
		h.Write(piece)
	}
	return h.Sum(nil), nil
}
