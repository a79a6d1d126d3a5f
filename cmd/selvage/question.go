package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/report"
)

// Text is set in lines of this many columns.
const textWidth = 80

// answerFlag is the flag that answers a question, and whether it did.
func answerFlag(q boundary.Question, c boundary.Choices) (flag string, answered bool) {
	switch q.Code {
	case finding.HoleCrosses:
		return "--hole", c.Hole != ""
	case finding.PartsOverlap:
		return "--parts", c.Overlap != ""
	}
	return "--crossing", c.Crossing != ""
}

// writeQuestions lists the faults that can be read in more than one way, each
// reading with its area and what asks for it.
func writeQuestions(t terminal, questions []boundary.Question, choices boundary.Choices, u report.Units) {
	if len(questions) == 0 {
		return
	}
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Which reading is meant"))
	for _, q := range questions {
		writeIndented(t, "  ", u.Sentence(q.Text))
		place := q.Place
		place.Vertex = 0
		writePlace(t, "  ", place)
		flag, answered := answerFlag(q, choices)
		for _, c := range q.Candidates {
			used := ""
			switch {
			case c.Used && answered:
				used = t.style.Good("used, as chosen")
			case c.Used:
				used = t.style.Warn("used unless answered")
			}
			choice := flag + " " + c.Choice
			if c.Choice == "first" || c.Choice == "second" {
				choice = "by a new file only"
			}
			fmt.Fprintln(t.out, strings.TrimRight(fmt.Sprintf("    %-20s %-12s %s", choice, u.Area(c.Area), used), " "))
			writeIndented(t, "      ", u.Sentence(c.Text))
		}
	}
}

// writeMends writes the ledger: what was mended where, and what that changed.
// Sentences repeat what a list of all findings has said already.
func writeMends(t terminal, site boundary.Site, sentences bool, u report.Units) {
	if len(site.Mends) == 0 {
		return
	}
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("What mending changes"))
	for _, m := range site.Mends {
		fmt.Fprintf(t.out, "  %s\n", t.style.Good(string(m.Code)))
		if sentences {
			writeIndented(t, "    ", u.Sentence(m.Text))
		}
		writePlace(t, "    ", m.Place)
		line := fmt.Sprintf("%s → %s, %s → %s", u.Count(m.VerticesBefore, "vertex", "vertices"), u.Number(m.VerticesAfter),
			u.Area(m.AreaBefore), u.Area(m.AreaAfter))
		if m.Displacement >= leastMove {
			line += "; moves the boundary by up to " + u.Length(m.Displacement)
		}
		writeIndented(t, "    ", strings.Replace(line, "up to <", "less than ", 1))
	}
	writeIndented(t, "  ", "All mending together "+shift(site, u)+".")
}

// shift says in words how far all mends together have changed the area.
func shift(site boundary.Site, u report.Units) string {
	d := site.Area - site.AreaBefore
	if math.Abs(d) < leastShift {
		return "leaves the area as it was drawn"
	}
	direction := "more"
	if d < 0 {
		direction = "less"
	}
	text := fmt.Sprintf("changes the area from %s as drawn to %s, %s %s", u.Area(site.AreaBefore), u.Area(site.Area), u.Area(math.Abs(d)), direction)
	if share := math.Abs(d) / site.AreaBefore; share < 1 {
		text += " (" + u.Percent(share) + ")"
	}
	return text
}

// What is less is not told: it comes from rounding to the grid.
const (
	leastShift = 0.1   // m²
	leastMove  = 0.001 // m
)

func writeIndented(t terminal, indent, text string) {
	for _, line := range report.Wrap(text, textWidth-len(indent)) {
		fmt.Fprintf(t.out, "%s%s\n", indent, line)
	}
}

func writePlace(t terminal, indent string, place finding.Place) {
	for _, line := range report.Wrap(report.Where(place), textWidth-len(indent)) {
		fmt.Fprintf(t.out, "%s%s\n", indent, t.style.Dim(line))
	}
}

type questionMessage struct {
	Code       finding.Code       `json:"code"`
	Text       string             `json:"text"`
	Said       json.RawMessage    `json:"said,omitempty"`
	Lon        json.Number        `json:"lon"`
	Lat        json.Number        `json:"lat"`
	Candidates []candidateMessage `json:"candidates"`
}

type candidateMessage struct {
	Choice string          `json:"choice"`
	Area   json.Number     `json:"area_m2"`
	Used   bool            `json:"used"`
	Text   string          `json:"text"`
	Said   json.RawMessage `json:"said,omitempty"`
}

func questionsJSON(questions []boundary.Question) []questionMessage {
	all := []questionMessage{}
	for _, q := range questions {
		at := degrees(orb.Point{q.Place.Lon, q.Place.Lat})
		m := questionMessage{Code: q.Code, Text: q.Text.String(), Said: q.Text.Said(), Lon: at[0], Lat: at[1]}
		for _, c := range q.Candidates {
			m.Candidates = append(m.Candidates, candidateMessage{c.Choice, decimal(c.Area, 2), c.Used, c.Text.String(), c.Text.Said()})
		}
		all = append(all, m)
	}
	return all
}
