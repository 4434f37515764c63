//go:build !js

package assets

import "testing"

func TestIcon(t *testing.T) {
	img, err := Icon()
	if err != nil {
		t.Fatal(err)
	}
	if b := img.Bounds(); b.Dx() != 256 || b.Dy() != 256 {
		t.Errorf("the icon measures %v, want 256 by 256", b)
	}
}
