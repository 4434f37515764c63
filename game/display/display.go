//go:build (linux && !android) || freebsd || netbsd || openbsd

// Package display says whether there is a display to open a window on, before
// the window library, which panics without one, looks for it. It needs only os
// and syscall, so that it can be asked while the program initialises.
package display

import (
	"os"
	"syscall"
)

// Sentence is what the user reads when no display answers.
const Sentence = "slowneedle: no display to open a window on (DISPLAY and WAYLAND_DISPLAY name none that answers); start it from a desktop session, or use the markbook command without one\n"

// Check ends the program with one sentence and exit status 1 where no display
// answers.
func Check() {
	if !Answers() {
		os.Stderr.WriteString(Sentence)
		os.Exit(1)
	}
}

// Answers reports whether a display answers.
func Answers() bool {
	return answers(os.Getenv("DISPLAY"), os.Getenv("WAYLAND_DISPLAY"), os.Getenv("XDG_RUNTIME_DIR"))
}

// answers reports whether an X display (":0", "unix:1.0", "host:10") or a Wayland
// one (a socket's name in the runtime folder, or its path) accepts a
// connection. A display on another host is taken at its word.
func answers(x, wayland, runtimeDir string) bool {
	if x != "" {
		host, number := splitDisplay(x)
		if number == "" {
			return false
		}
		if host != "" && host != "unix" {
			return true
		}
		path := "/tmp/.X11-unix/X" + number
		return connects("\x00"+path) || connects(path)
	}
	if wayland == "" {
		return false
	}
	if wayland[0] != '/' {
		wayland = runtimeDir + "/" + wayland
	}
	return connects(wayland)
}

// splitDisplay takes "host:number.screen" apart.
func splitDisplay(s string) (host, number string) {
	colon := -1
	for i := 0; i < len(s); i++ {
		if s[i] == ':' {
			colon = i
		}
	}
	if colon < 0 {
		return s, ""
	}
	end := colon + 1
	for end < len(s) && s[end] >= '0' && s[end] <= '9' {
		end++
	}
	return s[:colon], s[colon+1 : end]
}

// connects tries a Unix socket; a leading zero byte names an abstract one.
func connects(path string) bool {
	fd, err := syscall.Socket(syscall.AF_UNIX, syscall.SOCK_STREAM, 0)
	if err != nil {
		return false
	}
	defer syscall.Close(fd)
	if path[0] == 0 {
		path = "@" + path[1:]
	}
	return syscall.Connect(fd, &syscall.SockaddrUnix{Name: path}) == nil
}
