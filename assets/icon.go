//go:build !js

package assets

import (
	"bytes"
	_ "embed"
	"fmt"
	"image"
	"image/png"
)

//go:embed icon.png
var icon []byte

// Icon returns the program's icon: a chalk needle on slate. A browser
// has the page's own.
func Icon() (image.Image, error) {
	img, err := png.Decode(bytes.NewReader(icon))
	if err != nil {
		return nil, fmt.Errorf("assets: icon.png: %w", err)
	}
	return img, nil
}
