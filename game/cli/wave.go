package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"strop/content/wav"
	"strop/dsp"
)

// writeSide writes one side of a trial, 32-bit float, into a folder, which is
// made where it is missing.
func writeSide(folder, name string, rateHz float64, frames []dsp.Frame) error {
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return fmt.Errorf("the folder %s cannot be made: %w", folder, cause(err))
	}
	_, err := writeWAV(filepath.Join(folder, name), wav.WriteFormat{RateHz: rateHz, Channels: 2}, frames)
	return err
}

// writeWAV writes a whole file, and is how many samples did not fit.
func writeWAV(path string, format wav.WriteFormat, frames []dsp.Frame) (over int, err error) {
	err = writeFile(path, func(f *os.File) error {
		w, err := wav.NewWriter(f, format)
		if err != nil {
			return err
		}
		err = errors.Join(w.Write(frames), w.Close())
		over = int(w.Clipped())
		return err
	})
	return over, err
}

// writeFile writes a file, and leaves none that is not whole.
func writeFile(path string, write func(*os.File) error) (err error) {
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, cause(err))
	}
	defer func() {
		if err = errors.Join(err, f.Close()); err != nil {
			os.Remove(path)
		}
	}()
	return write(f)
}

// cause is what the system says was wrong, without the call and the path that
// it puts before it.
func cause(err error) error {
	var pathErr *os.PathError
	if errors.As(err, &pathErr) {
		return pathErr.Err
	}
	return err
}
