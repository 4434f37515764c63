//go:build !js

// Package page is what only the browser edition has: the page around the
// trainer. It owns nothing.
package page

// Browser reports whether the trainer runs in a browser: its reader closes the
// page, and is asked before a file is written.
const Browser = false
