// Package options reads the trainer's command line, and answers what needs no
// window, before the window library looks for a display.
//
// That library starts its window system while the program initialises and
// panics where there is none. Go initialises packages in order of their import
// paths as soon as their dependencies are ready (Go specification, "Program
// initialization"); this one needs little, so its turn comes first.
package options

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"slowneedle/drills/version"
	"slowneedle/game/display"
)

// Options is how the trainer is started.
type Options struct {
	Seed          uint64   // of the session's rounds; 0 draws one
	Width, Height int      // of the window, in points
	Join          bool     // begin with joining a class: a class code was given, an empty one too
	Code          string   // class code to begin with
	Server        string   // address of the class server
	Files         []string // recordings, or an exported journal
}

// Given is what this program was started with.
var Given Options

func init() {
	var err error
	Given, err = parse(os.Args[1:], os.Stdout)
	switch {
	case errors.Is(err, errAnswered):
		os.Exit(0)
	case err != nil:
		fmt.Fprintln(os.Stderr, "slowneedle:", err)
		os.Exit(2)
	}
	display.Check()
}

// errAnswered means that the command line only asked something, which has been
// answered.
var errAnswered = errors.New("answered")

// parse reads a command line without the program's name. The error says what
// is wrong with it, or is errAnswered, after the answer was written to out.
func parse(args []string, out io.Writer) (Options, error) {
	var o Options
	fs := flag.NewFlagSet("slowneedle", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	fs.Uint64Var(&o.Seed, "seed", 0, "seed of the session, a `number`: the same one gives the same rounds; 0 picks one")
	window := fs.String("window", "1280x800", "the window's size, `WIDTHxHEIGHT`")
	fs.StringVar(&o.Code, "code", "", "start with this class `code`")
	fs.StringVar(&o.Server, "server", "", "`address` of the class server, as in 192.168.1.20:8410")
	asked := fs.Bool("version", false, "print the version and exit")
	err := fs.Parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprint(out, "usage: slowneedle [options] [FILE ...]\n\nOpens the trainer. Rounds are made from WAV and FLAC recordings; an exported\nhistory (.jsonl, .csv) is added to the one here.\n\n")
		fs.SetOutput(out)
		fs.PrintDefaults()
		return o, errAnswered
	case err != nil:
		return o, fmt.Errorf("%w; slowneedle --help says what there is", err)
	case *asked:
		fmt.Fprintln(out, "slowneedle", version.String())
		return o, errAnswered
	}
	fs.Visit(func(f *flag.Flag) { o.Join = o.Join || f.Name == "code" })
	if o.Width, o.Height, err = size(*window); err != nil {
		return o, err
	}
	o.Files = fs.Args()
	for _, f := range o.Files {
		if strings.HasPrefix(f, "-") {
			return o, fmt.Errorf("%s comes after a file; options come before it", f)
		}
	}
	return o, nil
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
