//go:build !race && !js

package journal

const slowdown = 1
