package assets

import (
	"errors"
	"image"
)

// Icon returns an error: a browser shows the page's own icon.
func Icon() (image.Image, error) { return nil, errors.New("assets: the page has its own icon") }
