//go:build !js

package game

import (
	"os"
	"path/filepath"

	"slowneedle/audio/wholefile"
)

// storeWhole makes a file of data, and the folder it is in.
func storeWhole(path string, data []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	return wholefile.WriteBytes(path, 0o644, data)
}
