//go:build !js

package game

import (
	"io"
	"os"
	"path/filepath"
)

// storeWhole makes a file of data, and the folder it is in: a reader sees what
// was there or the new one, never half of it, after a power failure too.
func storeWhole(path string, data []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	return writeWhole(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// writeWhole makes a file that is complete or not there.
func writeWhole(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".slowneedle-*")
	if err != nil {
		return err
	}
	err = write(f)
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}
