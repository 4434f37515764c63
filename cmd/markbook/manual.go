package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"slowneedle/drills/version"
)

// What follows is made of the command line's own model: the manual page, and what
// a shell completes.

type manCmd struct{}

func (manCmd) Run(s streams, app *kong.Kong) error {
	_, err := s.out.Write([]byte(manual(app.Model)))
	return err
}

// manual is the manual page, in the macros that every Unix has (man(7)).
func manual(app *kong.Application) string {
	var b strings.Builder
	f := func(format string, a ...any) { fmt.Fprintf(&b, format+"\n", a...) }
	f(`.TH MARKBOOK 1 "" "markbook %s" "slowneedle"`, roff(version.String()))
	f(".SH NAME\nmarkbook \\- %s", roff(strings.TrimSuffix(app.Help, ".")))
	f(".SH SYNOPSIS\n.B markbook\n.I COMMAND\n[\\fIoptions\\fR] [\\fIarguments\\fR]")
	f(".SH COMMANDS")
	for _, c := range app.Leaves(true) {
		f(".SS %s\n%s", roff(strings.TrimPrefix(c.Summary(), "markbook ")), roff(c.Help))
		for _, p := range c.Positional {
			f(".TP\n.I %s\n%s", roff(p.Summary()), roff(p.Help))
		}
		for _, o := range c.Flags {
			f(".TP\n.B %s\n%s", roff(o.String()), roff(o.Help))
		}
	}
	f(".SH OPTIONS")
	for _, o := range app.Flags {
		f(".TP\n.B %s\n%s", roff(o.String()), roff(o.Help))
	}
	f(".SH EXIT STATUS\n0 good, 1 bad input, 2 bad usage. With \\-\\-json, standard output holds nothing but JSON.")
	return b.String()
}

// roff is a text as it stands in a manual page.
func roff(text string) string {
	text = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(text)
	if strings.HasPrefix(text, ".") || strings.HasPrefix(text, "'") {
		text = `\&` + text
	}
	return text
}

type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

// shells are what each shell is to run at its start.
var shells = map[string]string{
	"bash": `_markbook() {
  local IFS=$'\n'
  COMPREPLY=($(compgen -W "$(markbook complete -- "${COMP_WORDS[@]:1:COMP_CWORD-1}")" -- "${COMP_WORDS[COMP_CWORD]}"))
}
complete -o default -F _markbook markbook
`,
	"fish": `complete -c markbook -a '(markbook complete -- (commandline -opc)[2..-1])'
`,
}

func (c completionCmd) Run(s streams) error {
	text := shells[c.Shell]
	if c.Shell == "zsh" {
		text = "autoload -U +X bashcompinit && bashcompinit\n" + shells["bash"]
	}
	_, err := fmt.Fprint(s.out, text)
	return err
}

// completeCmd prints what may follow some words, a line each; the shell picks what
// begins like the word that is being typed.
type completeCmd struct {
	Words []string `arg:"" optional:"" passthrough:""`
}

func (c completeCmd) Run(s streams, app *kong.Kong) error {
	for _, w := range candidates(app.Model.Node, c.Words) {
		fmt.Fprintln(s.out, w)
	}
	return nil
}

func candidates(n *kong.Node, words []string) (list []string) {
	for _, w := range words {
		if i := slices.IndexFunc(n.Children, func(c *kong.Node) bool { return c.Name == w && !c.Hidden }); i >= 0 {
			n = n.Children[i]
		}
	}
	for _, c := range n.Children {
		if !c.Hidden {
			list = append(list, c.Name)
		}
	}
	for _, group := range n.AllFlags(true) {
		for _, f := range group {
			list = append(list, "--"+f.Name)
		}
	}
	for _, p := range n.Positional {
		if p.Enum != "" {
			list = append(list, p.EnumSlice()...)
		}
	}
	return list
}
