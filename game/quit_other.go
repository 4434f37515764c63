//go:build !js

package game

// canQuit says whether the program can end itself.
const canQuit = true
