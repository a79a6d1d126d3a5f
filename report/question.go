package report

import (
	"regexp"
	"strconv"
	"strings"

	"selvage/boundary"
	"selvage/boundary/finding"
)

// question is something that the client is asked. Its faults are indexes of
// findings.
type question struct {
	Number  int // from 1; 0 when it is settled
	Settled bool
	Text    string
	Faults  []int
	Place   finding.Place
	Options []option
	Wanted  string // what kind of answer is asked for, where there are no options
	drawn   bool   // whether the options are shapes
}

// option is one of the answers to a question.
type option struct {
	Letter    string
	Text      string
	Area      string // "" when the answer stands for no shape
	Choice    string // the reading's own name
	Used      bool   // unless it is answered otherwise
	candidate boundary.Candidate
}

// Of more faults of one code that a yes or no can answer, one question is made.
const mostAlike = 3

// questions are those that need an answer, in the order of the findings, and
// after them those that are settled.
func (r Receipt) questions() []question {
	var out []question
	alike, readings := map[finding.Code]int{}, r.readings()
	for _, f := range r.Receipt.Findings {
		if _, drawn := readings[askedOf(f.Code, f.Place)]; f.Severity == finding.NeedsAnswer && !drawn {
			alike[f.Code]++
		}
	}
	byReading, byCode := map[int]int{}, map[finding.Code]int{}
	for i, f := range r.Receipt.Findings {
		if f.Severity != finding.NeedsAnswer {
			continue
		}
		reading, drawn := readings[askedOf(f.Code, f.Place)]
		at, known := byReading[reading]
		if !drawn {
			at, known = byCode[f.Code]
			known = known && alike[f.Code] > mostAlike
		}
		if known {
			out[at].Faults = append(out[at].Faults, i)
			continue
		}
		q := question{Number: len(out) + 1, Text: r.Units.toClient(f.Text), Faults: []int{i}, Place: f.Place}
		if drawn {
			byReading[reading] = len(out)
			q.draw(r.Receipt.Site.Questions[reading], r.Units)
		} else {
			byCode[f.Code] = len(out)
			q.Options, q.Wanted = r.Units.plainAnswers(f.Code)
			if alike[f.Code] > mostAlike {
				q.Text = r.Units.meaning(f.Code)
			}
		}
		out = append(out, q)
	}
	for i, settled := range r.Receipt.Site.Questions {
		if _, open := byReading[i]; !open {
			q := question{Settled: true, Place: settled.Place}
			q.draw(settled, r.Units)
			for j := range q.Options {
				q.Options[j].Letter = ""
			}
			out = append(out, q)
		}
	}
	return out
}

// asked tells which findings belong to which question with drawn readings.
type asked struct {
	code          finding.Code
	feature, part int
}

func askedOf(code finding.Code, p finding.Place) asked { return asked{code, p.Feature, p.Part} }

// readings are the indexes of the questions with drawn readings.
func (r Receipt) readings() map[asked]int {
	out := map[asked]int{}
	for i, q := range r.Receipt.Site.Questions {
		if _, known := out[askedOf(q.Code, q.Place)]; !known {
			out[askedOf(q.Code, q.Place)] = i
		}
	}
	return out
}

// draw makes the question that of a fault with drawn readings.
func (q *question) draw(from boundary.Question, u Units) {
	q.Text, q.Place, q.drawn = u.Sentence(from.Text), from.Place, true
	q.Place.Vertex = 0
	for i, c := range from.Candidates {
		q.Options = append(q.Options, option{
			Letter: letter(i), Text: u.Sentence(c.Text), Area: u.AreaBoth(c.Area), Choice: Clean(c.Choice), Used: c.Used, candidate: c,
		})
	}
}

// plainAnswers are the answers to a finding without drawn readings: options,
// or else what kind of answer is asked for.
func (l Locale) plainAnswers(code finding.Code) (options []option, wanted string) {
	yesOrNo := func(yes, no string) []option {
		return []option{{Letter: "a", Text: yes, Used: true}, {Letter: "b", Text: no}}
	}
	switch code {
	case finding.NoPolygon, finding.SwappedCoordinates, finding.OutOfRange:
		return nil, l.Say("Please answer with a new file.")
	case finding.LooksProjected:
		return nil, l.Say("Please answer with the name of the coordinate system.")
	case finding.SystemOverruled, finding.NoCRS, finding.LooksGeographic:
		return yesOrNo(l.Say("It is read rightly."), l.Say("It is another system; its name follows.")), ""
	case finding.NoGeometry, finding.NetworkLink, finding.SeveralKML, finding.SeveralShapefiles,
		finding.TooFewVertices, finding.ZeroArea, finding.HoleOutside:
		return yesOrNo(l.Say("Nothing is missing; go on without it."), l.Say("Something is missing; a new file follows.")), ""
	}
	return yesOrNo(l.Say("It is meant as received; go on with it."), l.Say("It is a mistake; a new file follows.")), ""
}

// A flag of the command line, in a sentence on how to run the tool.
var flagName = regexp.MustCompile(`[ (]--[a-z]`)

var sentenceEnd = regexp.MustCompile(`[.?!] (\p{Lu}|“)`)

// toClient is the text of a finding as it is said to the client.
func (u Units) toClient(t finding.Text) string { return withoutFlags(u.Sentence(t.ToClient())) }

// withoutFlags leaves out the sentences on how to run the tool.
func withoutFlags(text string) string {
	if !flagName.MatchString(text) {
		return text
	}
	var kept []string
	for rest := text; rest != ""; {
		sentence := rest
		if at := sentenceEnd.FindStringIndex(rest); at != nil {
			sentence = rest[:at[0]+1]
		}
		rest = strings.TrimPrefix(rest[len(sentence):], " ")
		if !flagName.MatchString(sentence) {
			kept = append(kept, sentence)
		}
	}
	if len(kept) == 0 {
		return text
	}
	return strings.Join(kept, " ")
}

func letter(i int) string { return string(rune('a' + i%26)) }

// answerExample shows how to answer: "1b, 2a".
func answerExample(questions []question) string {
	example, wanted := "", 1
	for _, q := range questions {
		if q.Settled || len(q.Options) < 2 || wanted < 0 {
			continue
		}
		if example != "" {
			example += ", "
		}
		example += strconv.Itoa(q.Number) + letter(wanted)
		wanted--
	}
	return example
}
