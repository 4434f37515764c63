// Command slowneedle trains setting levels by a slow needle and a fast peak
// lamp.
package main

import (
	"flag"
	"fmt"
	"os"
	"strconv"
	"strings"

	"slowneedle/drills"
	"slowneedle/game"
	_ "slowneedle/game/display" // ends the program with one sentence where there is no display
)

func main() {
	os.Exit(run(os.Args[1:]))
}

func run(args []string) int {
	var opt game.Options
	var window string
	var showVersion bool
	fs := flag.NewFlagSet("slowneedle", flag.ContinueOnError)
	fs.Usage = func() {
		fmt.Fprintf(fs.Output(), "usage: slowneedle [options] [FILE.wav]\n\nOpens the trainer. With a recording, rounds are made from it.\n\n")
		fs.PrintDefaults()
	}
	fs.Uint64Var(&opt.Seed, "seed", 0, "the session's `number`: the same one gives the same rounds; 0 draws one")
	fs.StringVar(&window, "window", "1280x800", "the window's size, `WIDTHxHEIGHT`")
	fs.StringVar(&opt.Code, "code", "", "begin with this class `code`")
	fs.StringVar(&opt.Server, "server", "", "`address` of the class server, as in 192.168.1.20:8410")
	fs.BoolVar(&showVersion, "version", false, "print the version and end")
	switch err := fs.Parse(args); {
	case err == flag.ErrHelp:
		return 0
	case err != nil:
		return 2
	}
	if showVersion {
		fmt.Println("slowneedle", drills.Version())
		return 0
	}
	var err error
	if opt.Width, opt.Height, err = size(window); err != nil || fs.NArg() > 1 {
		if err == nil {
			err = fmt.Errorf("one recording at a time, not %d", fs.NArg())
		}
		fmt.Fprintln(os.Stderr, "slowneedle:", err)
		return 2
	}
	opt.File = fs.Arg(0)
	opt.Version = drills.Version()
	opt.Probe = os.Getenv("SLOWNEEDLE_PROBE")
	if err := game.Run(opt); err != nil {
		fmt.Fprintln(os.Stderr, "slowneedle:", err)
		return 1
	}
	return 0
}

// size reads "1280x800".
func size(s string) (w, h int, err error) {
	a, b, ok := strings.Cut(s, "x")
	if ok {
		w, err = strconv.Atoi(a)
		if err == nil {
			h, err = strconv.Atoi(b)
		}
	}
	if !ok || err != nil || w < 100 || h < 100 || w > 16384 || h > 16384 {
		return 0, 0, fmt.Errorf("--window %q is no size such as 1280x800", s)
	}
	return w, h, nil
}
