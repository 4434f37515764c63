//go:build (linux && !android) || freebsd || netbsd || openbsd

package display

import (
	"net"
	"path/filepath"
	"testing"
)

func TestAnswers(t *testing.T) {
	dir := t.TempDir()
	l, err := net.Listen("unix", filepath.Join(dir, "wayland-9"))
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for _, c := range []struct {
		name, x, wayland string
		want             bool
	}{
		{"nothing set", "", "", false},
		{"a dead X display", ":7777", "", false},
		{"no number", "desk", "", false},
		{"another host is taken at its word", "elsewhere:10.0", "", true},
		{"a Wayland socket that answers", "", "wayland-9", true},
		{"a Wayland socket by its path", "", filepath.Join(dir, "wayland-9"), true},
		{"a dead Wayland socket", "", "wayland-8", false},
	} {
		if got := answers(c.x, c.wayland, dir); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
