// Command markbook is the teacher's command line: it measures recordings with the trainer's own meters, says and
// renders rounds, and judges takes.
// It needs no window and no sound device.
//
// Exit status: 0 good, 1 bad input, 2 bad usage. With --json, standard output holds nothing but JSON;
// progress goes to standard error and only to a terminal.
package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"reflect"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"
	"golang.org/x/term"

	"slowneedle/assets"
	"slowneedle/audio/measure"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/version"
)

// cli is the command line. Each command is a struct in a file of its own, with a method
// Run(streams) error.
type cli struct {
	Measure measureCmd `cmd:"" help:"Measure recordings with the slow needle, the lamp and the loudness meters."`
	Round   roundCmd   `cmd:"" help:"Describe a round and give its aim."`
	Render  renderCmd  `cmd:"" help:"Write a round as the learner hears it at one fader setting, before the monitor, as WAV."`
	Sheet   sheetCmd   `cmd:"" help:"Make an exercise sheet for a class, or show what a class code contains."`
	Test    testCmd    `cmd:"" help:"Choose test forms, which measure what a class learns."`
	Check   checkCmd   `cmd:"" help:"Replay every take of the hand-ins and compare every verdict."`
	Report  reportCmd  `cmd:"" help:"Write the mark book of a class: one page to read and print, and CSV."`
	Demo    demoCmd    `cmd:"" help:"Make a class of invented learners, to see what a mark book looks like."`
	Serve   serveCmd   `cmd:"" help:"Serve a class: the browser edition, the sheet, hand-ins, a live board, the mark book."`
	Judge   judgeCmd   `cmd:"" help:"Judge what came back of a series from a real desk or recorder."`
	Play    playCmd    `cmd:"" help:"Play a take through the desk, without a sound device, and print the verdict."`

	Man        manCmd        `cmd:"" help:"Print the manual page, for man."`
	Completion completionCmd `cmd:"" help:"Print what a shell needs to complete this command's words."`
	Complete   completeCmd   `cmd:"" hidden:""`

	Version kong.VersionFlag `help:"Print the version and exit."`
}

// streams are what a command writes to.
type streams struct {
	out      io.Writer // results
	err      io.Writer // complaints and progress
	terminal bool      // err is a terminal: progress may be shown
}

// errReported ends a command with status 1 without another word: it has said on err what was wrong.
var errReported = errors.New("already reported")

// usageError is a fault in how the command was called: status 2.
type usageError struct{ error }

func main() {
	os.Exit(run(os.Args[1:], streams{
		out:      os.Stdout,
		err:      os.Stderr,
		terminal: term.IsTerminal(int(os.Stderr.Fd())),
	}))
}

func run(args []string, s streams) (status int) {
	var c cli
	parser, err := kong.New(&c,
		kong.Name("markbook"),
		kong.Description("The teacher's half of slowneedle: makes sheets and rounds, serves a class, checks takes, measures recordings."),
		kong.Writers(s.out, s.err),
		kong.Vars{
			"version":   "markbook " + version.String(),
			"reference": fmt.Sprint(measure.Default().ReferenceDBFS),
			"lamp":      fmt.Sprint(measure.Default().LampDBFS),
			"families":  list(source.Generated(), func(f source.Family) string { return string(f) }),
			"drills":    list(drills.Drills(), func(d drills.Drill) string { return d.ID }),
			"languages": list(assets.Languages(), func(l string) string { return l }),
		},
		kong.KindMapper(reflect.Uint64, kong.MapperFunc(wholeNumber)),
		kong.KindMapper(reflect.Uint32, kong.MapperFunc(wholeNumber)),
		kong.WithHyphenPrefixedParameters(true), // levels are negative numbers
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
	)
	if err != nil {
		fmt.Fprintln(s.err, "markbook:", err)
		return 2
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	call, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(s.err, "markbook: %v; see markbook --help\n", err)
		return 2
	}
	return report(call.Run(s, parser), s)
}

// list are the words of a choice, as kong reads them and people do.
func list[T any](all []T, word func(T) string) string {
	var words []string
	for _, one := range all {
		words = append(words, word(one))
	}
	return strings.Join(words, ", ")
}

// wholeNumber reads a flag that counts from 0, as a seed does.
func wholeNumber(ctx *kong.DecodeContext, target reflect.Value) error {
	var text string
	if err := ctx.Scan.PopValueInto("number", &text); err != nil {
		return err
	}
	bits := target.Type().Bits()
	n, err := strconv.ParseUint(text, 10, bits)
	if err != nil {
		return fmt.Errorf("%q is not a whole number from 0 to %d", text, uint64(math.MaxUint64)>>(64-bits))
	}
	target.SetUint(n)
	return nil
}

// report prints what went wrong, if it has not been said, and returns the exit status.
func report(err error, s streams) int {
	var usage usageError
	switch {
	case err == nil:
		return 0
	case errors.Is(err, errReported):
		return 1
	case errors.As(err, &usage):
		fmt.Fprintf(s.err, "markbook: %v; see markbook --help\n", err)
		return 2
	}
	fmt.Fprintln(s.err, "markbook:", err)
	return 1
}
