//go:build race && !js

package journal

// slowdown is what the race detector makes of a time.
const slowdown = 20
