// Selvage looks after the edges of an aerial mapping job: it checks a client's
// boundary file, prepares it for the flight, and shows afterwards what the
// photos saw of it.
package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"runtime/debug"
	"strings"
	"unicode"

	"github.com/spf13/pflag"
	"golang.org/x/term"

	"selvage/report"
)

// Exit statuses.
const (
	allWell     = 0
	needsAnswer = 1 // or coverage falls short
	couldNotRun = 2
)

// terminal is where a command speaks to people and machines.
type terminal struct {
	out, err    io.Writer
	style       report.Style
	interactive bool // whether somebody watches err
}

// command is one word after "selvage".
type command struct {
	name, summary string
	arguments     string
	about         string // sentences below the usage line
	example       string
	// define adds the flags and returns what runs the command.
	define func(*pflag.FlagSet) action
}

// action runs a command on its arguments and returns the exit status. With an
// error the status is couldNotRun.
type action func(t terminal, args []string) (status int, err error)

func commands() []command {
	return []command{vetCommand(), prepareCommand(), planCommand(), photosCommand(), auditCommand(), compareCommand(), verifyCommand(), deskCommand(), demoCommand(), guideCommand(), schemaCommand(), versionCommand()}
}

func main() {
	debug.SetGCPercent(50) // a fifth less memory for 100,000 photos, in the same time
	colour := os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb" && takesColour(os.Stdout)
	t := terminal{os.Stdout, os.Stderr, report.Style{Colour: colour}, term.IsTerminal(int(os.Stderr.Fd()))}
	limitMemory(usualMemory)
	go watchMemory(t)
	os.Exit(run(t, os.Args[1:]))
}

// run carries out one command line and returns the exit status.
func run(t terminal, args []string) int {
	status, err := dispatch(t, args)
	if err != nil {
		fmt.Fprintln(t.err, "selvage: "+oneLine(say(err)))
		return couldNotRun
	}
	return status
}

// say leaves out which call of the system failed: "client.kml: no such file".
func say(err error) string {
	if fault, ok := err.(*fs.PathError); ok {
		return fault.Path + ": " + fault.Err.Error()
	}
	return err.Error()
}

func dispatch(t terminal, args []string) (int, error) {
	if len(args) == 0 && t.interactive {
		return withoutCommand(t)
	}
	if len(args) == 0 {
		fmt.Fprint(t.err, help())
		return couldNotRun, nil
	}
	switch word := args[0]; word {
	case "help", "--help", "-h":
		if word == "help" && len(args) == 2 {
			return dispatch(t, []string{args[1], "--help"})
		}
		fmt.Fprint(t.out, help())
		return allWell, nil
	case "--version":
		return dispatch(t, []string{"version"})
	default:
		for _, c := range commands() {
			if c.name == word {
				return c.run(t, args[1:])
			}
		}
		kind := "command"
		if strings.HasPrefix(word, "-") {
			kind = "flag"
		}
		return 0, fmt.Errorf("unknown %s %s; see selvage --help", kind, word)
	}
}

func (c command) run(t terminal, args []string) (int, error) {
	flags := pflag.NewFlagSet(c.name, pflag.ContinueOnError)
	flags.SortFlags = false
	flags.Usage = func() {}
	act := c.define(flags)
	err := parse(flags, c.name, args)
	switch {
	case errors.Is(err, pflag.ErrHelp):
		fmt.Fprint(t.out, c.help(flags))
		return allWell, nil
	case err != nil:
		return 0, err
	}
	if l, given := flags.Lookup("limit"), flags.Changed("limit"); given {
		limitMemory(l.Value.(*limits).memory)
	}
	return act(t, flags.Args())
}

// parse reads the flags of a command; its error names the flag.
func parse(flags *pflag.FlagSet, command string, args []string) error {
	err := flags.ParseAll(args, setAsGiven(flags))
	var invalid *pflag.InvalidValueError
	switch {
	case err == nil || errors.Is(err, pflag.ErrHelp):
		return err
	case errors.As(err, &invalid):
		return fmt.Errorf("--%s %w", invalid.GetFlag().Name, errors.Unwrap(invalid))
	}
	return fmt.Errorf("%w; see selvage %s --help", err, command)
}

// misuse is the error of a command line that lacks or repeats something.
func misuse(command, text string) error {
	return fmt.Errorf("%s; see selvage %s --help", text, command)
}

const exitStatuses = `Exit status: 0 nothing wrong, 1 something needs an answer or coverage falls
short, 2 the command could not run.
`

func help() string {
	var b strings.Builder
	b.WriteString(`Selvage looks after the edges of an aerial mapping job: the client's boundary
before the flight, and the proof afterwards that the photos reached past it.

Commands:
`)
	for _, c := range commands() {
		fmt.Fprintf(&b, "  %-9s %s\n", c.name, c.summary)
	}
	b.WriteString(`
Example:
  selvage vet client.kml
  selvage prepare client.kml --buffer 30m --out job
  selvage audit --job job/client.job.geojson DCIM --ground 132m

"selvage COMMAND --help" tells more of each; "selvage demo" shows them at work,
and "selvage guide" leads through a job. Without a command, selvage opens the
desk: a page in the browser, on this computer only.
`)
	b.WriteString(exitStatuses)
	return b.String()
}

func (c command) help(flags *pflag.FlagSet) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Usage: %s\n\n%s\n", strings.TrimSpace("selvage "+c.name+" "+c.arguments), c.about)
	if flags.HasFlags() {
		b.WriteString("\nFlags:\n")
		flags.VisitAll(func(f *pflag.Flag) { b.WriteString(flagHelp(f)) })
	}
	fmt.Fprintf(&b, "\nExample:\n  %s\n", strings.ReplaceAll(c.example, "\n", "\n  "))
	return b.String()
}

// flagHelp describes a flag in two columns.
func flagHelp(f *pflag.Flag) string {
	const left, right = 28, 50
	name, usage := flagWords(f)
	var b strings.Builder
	if len(name) > left {
		fmt.Fprintf(&b, "  %s\n", name)
		name = ""
	}
	for i, line := range report.Wrap(usage, right) {
		if i > 0 {
			name = ""
		}
		fmt.Fprintf(&b, "  %-*s %s\n", left, name, line)
	}
	return b.String()
}

// flagWords returns how a flag is written, and what it is for.
func flagWords(f *pflag.Flag) (name, usage string) {
	value, usage := pflag.UnquoteUsage(f)
	if f.DefValue != "" && f.DefValue != "false" && f.DefValue != "[]" {
		usage += " (" + f.DefValue + ")"
	}
	if f.Value.Type() == "bool" {
		return "--" + f.Name, usage
	}
	return strings.TrimSpace("--" + f.Name + " " + value), usage
}

// oneLine keeps a message on one line, and file names from driving the terminal.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r):
			return unicode.ReplacementChar
		}
		return r
	}, strings.TrimSpace(s))
}
