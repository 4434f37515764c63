// Command slowneedle trains setting levels by a slow needle and a fast peak
// lamp.
package main

import (
	"fmt"
	"os"

	"slowneedle/cmd/slowneedle/options"
	"slowneedle/drills/version"
	"slowneedle/game"
)

func main() {
	o := options.Given
	err := game.Run(game.Options{
		Seed: o.Seed, Files: o.Files, Width: o.Width, Height: o.Height, Join: o.Join, Code: o.Code, Server: o.Server,
		Version: version.String(), Probe: os.Getenv("SLOWNEEDLE_PROBE"),
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, "slowneedle:", err)
		os.Exit(1)
	}
}
