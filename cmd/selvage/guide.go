package main

import (
	"bufio"
	"embed"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/spf13/pflag"

	"selvage/report"
)

//go:generate go test -run ^TestGuideIsUpToDate$ -update

// guideFiles are the pages of the guide, so that they can be read where there
// is no network.
//
//go:embed guide/*.md guide/commands/*.md
var guideFiles embed.FS

func guideCommand() command {
	return command{
		name: "guide", summary: "lead through a job, page by page",
		arguments: "[PAGE]",
		about: `Prints a page of the guide; without a name, which pages there are. There is one
for each part of a job, one for every command, one that derives the formulas,
and one that says what Selvage does not do.`,
		example: "selvage guide\nselvage guide receipt\nselvage guide formulas",
		define: func(*pflag.FlagSet) action {
			return func(t terminal, args []string) (int, error) {
				if len(args) > 1 {
					return 0, misuse("guide", "guide takes the name of one page")
				}
				name := "README"
				if len(args) == 1 {
					name = args[0]
				}
				text, err := guidePage(name)
				if err != nil {
					return 0, err
				}
				return allWell, writePage(t, text)
			}
		},
	}
}

// guidePage returns a page by its name, or by that of a command.
func guidePage(name string) (string, error) {
	for _, folder := range []string{"guide", "guide/commands"} {
		if text, err := guideFiles.ReadFile(folder + "/" + name + ".md"); err == nil {
			return strings.ReplaceAll(string(text), "\r\n", "\n"), nil
		}
	}
	return "", fmt.Errorf("the guide has no page %s; selvage guide lists them", name)
}

var (
	webLink  = regexp.MustCompile(`\[([^\]]*)\]\((https?:[^)]*)\)`)
	pageLink = regexp.MustCompile(`\[([^\]]*)\]\([^)]*\)`)
	mark     = strings.NewReplacer("`", "", "**", "")
)

// writePage sets a page of Markdown as a terminal shows it best.
func writePage(t terminal, text string) error {
	out := bufio.NewWriter(t.out)
	var table [][]string
	code := false
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		if strings.HasPrefix(line, "|") && !code {
			if !strings.HasPrefix(line, "|--") {
				table = append(table, cells(line))
			}
			continue
		}
		report.WriteColumns(out, table)
		table = nil
		switch {
		case strings.HasPrefix(line, "```"):
			code = !code
		case code:
			fmt.Fprintln(out, strings.TrimRight("    "+line, " "))
		case strings.HasPrefix(line, "<!--"), strings.HasPrefix(line, "!["):
		case strings.HasPrefix(line, "#"):
			title := strings.TrimLeft(line, "# ")
			under := "-"
			if strings.HasPrefix(line, "# ") {
				under = "="
			}
			fmt.Fprintf(out, "%s\n%s\n", t.style.Bold(title), strings.Repeat(under, utf8.RuneCountInString(title)))
		default:
			fmt.Fprintln(out, inWords(line))
		}
	}
	report.WriteColumns(out, table)
	return out.Flush()
}

func cells(line string) []string {
	row := strings.Split(strings.Trim(line, "|"), "|")
	for i, cell := range row {
		row[i] = inWords(strings.TrimSpace(cell))
	}
	return row
}

func inWords(text string) string {
	return mark.Replace(pageLink.ReplaceAllString(webLink.ReplaceAllString(text, "$1 ($2)"), "$1"))
}
