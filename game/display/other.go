//go:build !((linux && !android) || freebsd || netbsd || openbsd)

// Package display checks for a display where a program can run without one;
// here every session has one.
package display
