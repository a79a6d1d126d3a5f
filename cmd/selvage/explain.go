package main

import (
	"fmt"
	"slices"
	"strings"

	"selvage/boundary/finding"
	"selvage/report"
)

// allCodes stands for all codes on the command line.
const allCodes = "all"

type entryMessage struct {
	Code     finding.Code     `json:"code"`
	Severity finding.Severity `json:"severity"`
	Meaning  string           `json:"meaning"`
	Done     string           `json:"done"`
	Ask      string           `json:"ask"`
}

// explain tells what a code means, or lists all of them.
func explain(t terminal, code string, machine bool) error {
	if code == allCodes {
		return explainAll(t, machine)
	}
	i := slices.IndexFunc(finding.Table, func(e finding.Entry) bool { return string(e.Code) == code })
	if i < 0 {
		return fmt.Errorf("there is no code %s; the nearest are %s; see selvage vet --explain %s", code, strings.Join(nearest(code, 3), ", "), allCodes)
	}
	e := finding.Table[i]
	if machine {
		return writeMachine(t.out, entryMessage(e))
	}
	fmt.Fprintf(t.out, "%s (%s)\n", t.style.Bold(string(e.Code)), report.SeverityName(e.Severity))
	for _, row := range []struct{ title, text string }{
		{"What it means", e.Meaning},
		{"What is done about it", e.Done},
		{askTitle(e), e.Ask},
	} {
		if row.text != "" {
			fmt.Fprintf(t.out, "\n%s\n", t.style.Bold(row.title))
			writeIndented(t, "  ", row.text)
		}
	}
	return nil
}

// askTitle tells a question to the client from advice.
func askTitle(e finding.Entry) string {
	if strings.HasSuffix(e.Ask, "?") {
		return "What to ask the client"
	}
	return "What to do"
}

func explainAll(t terminal, machine bool) error {
	if machine {
		var message struct {
			Codes []entryMessage `json:"codes"`
		}
		for _, e := range finding.Table {
			message.Codes = append(message.Codes, entryMessage(e))
		}
		return writeMachine(t.out, message)
	}
	var rows [][]string
	for _, e := range finding.Table {
		rows = append(rows, []string{string(e.Code), report.SeverityName(e.Severity), e.Meaning})
	}
	return report.WriteColumns(t.out, rows)
}

// nearest are the codes that word may have been meant for: those that differ
// from it, whole or in one of their words, in the fewest letters.
func nearest(word string, most int) []string {
	word = strings.ToLower(word)
	distance := func(code string) int {
		whole := edits(code, word)
		least := whole
		for part := range strings.SplitSeq(code, "-") {
			least = min(least, edits(part, word))
		}
		return 1000*least + whole
	}
	var codes []string
	for _, e := range finding.Table {
		codes = append(codes, string(e.Code))
	}
	slices.SortStableFunc(codes, func(a, b string) int { return distance(a) - distance(b) })
	return codes[:min(most, len(codes))]
}

// edits is how many letters have to be put in, taken out or replaced to make
// one word of the other.
func edits(a, b string) int {
	from, to := []rune(a), []rune(b)
	row := make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i, c := range from {
		diagonal := row[0]
		row[0] = i + 1
		for j, d := range to {
			replaced := diagonal
			if c != d {
				replaced++
			}
			diagonal = row[j+1]
			row[j+1] = min(replaced, diagonal+1, row[j]+1)
		}
	}
	return row[len(to)]
}
