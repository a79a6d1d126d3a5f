package report

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"selvage/boundary"
	"selvage/boundary/finding"
)

// The bow-tie goes over the corners of a field of 400 m by 300 m: its lobes are
// half of the field, the order that does not cross is all of it.
func TestQuestionsOfABowTie(t *testing.T) {
	r := receipts(t)["bow-tie"]
	questions := r.questions()
	if len(questions) != 1 || len(questions[0].Options) != 2 {
		t.Fatalf("got %+v", questions)
	}
	q := questions[0]
	for i, want := range []struct {
		letter, choice string
		area           float64
		used           bool
	}{{"a", "lobes", 60_000, true}, {"b", "uncross", 120_000, false}} {
		o := q.Options[i]
		if o.Letter != want.letter || o.Choice != want.choice || o.Used != want.used || math.Abs(o.candidate.Area/want.area-1) > 0.01 {
			t.Errorf("got %+v, want %+v", o, want)
		}
		page := writeReceipt(t, r, WriteReceiptHTML)
		if block := between(page, `id="questions"`, "</section>"); !strings.Contains(block, `<b class="letter">1`+o.Letter+`</b>`) || !strings.Contains(block, tie(o.Area)) {
			t.Errorf("the page does not offer 1%s with %s", o.Letter, o.Area)
		}
		text := writeReceipt(t, r, WriteReceiptText)
		if !strings.Contains(text, "     "+o.Letter+") ") || !strings.Contains(text, metric.Area(o.candidate.Area)) {
			t.Errorf("the mail does not offer %s) with its area:\n%s", o.Letter, text)
		}
	}
	if n := strings.Count(writeReceipt(t, r, WriteReceiptHTML), `<svg class="reading"`); n != 2 {
		t.Errorf("%d readings are drawn, want 2", n)
	}
}

func TestQuestions(t *testing.T) {
	twice := field("Long Meadow", ring(0, 0, 200, 200, 400, 0, 400, 100, 200, 20, 0, 100))
	slivers := func(n int) (out []string) {
		for i := range n {
			out = append(out, field(fmt.Sprintf("Sliver %d", i), box(100*float64(i), 0, 0.6, 80)))
		}
		return append(out, field("Field", box(0, 100, 300, 300)))
	}
	tests := []struct {
		name     string
		choices  boundary.Choices
		features []string
		want     []string // faults and the number of options of each question
		settled  int
		example  string
	}{
		{"none", boundary.Choices{}, []string{soundField}, nil, 0, ""},
		{"two crossings of one part", boundary.Choices{}, []string{twice}, []string{"F1, F2: 2"}, 0, "1b"},
		{"settled", boundary.Choices{Crossing: boundary.Lobes}, []string{bowTie}, nil, 1, ""},
		{"a crossing and a hole", boundary.Choices{}, []string{bowTie, field("Ring road", box(500, 0, 400, 300), ring(800, 100, 800, 180, 960, 180, 960, 100))},
			[]string{"F1: 2", "F2, F3: 2"}, 0, "1b, 2a"},
		{"both in one part", boundary.Choices{}, []string{field("Long Meadow", ring(0, 0, 400, 300, 400, 0, 0, 300), ring(-40, 120, 40, 120, 40, 180, -40, 180))},
			[]string{"F1: 2", "F2, F3: 2"}, 0, "1b, 2a"},
		{"three alike", boundary.Choices{}, slivers(3), []string{"F1: 2", "F2: 2", "F3: 2"}, 0, "1b, 2a"},
		{"more alike", boundary.Choices{}, slivers(8), []string{"F1, F2, F3, F4, F5, F6, F7, F8: 2"}, 0, "1b"},
		{"no polygon", boundary.Choices{}, []string{pathOnly}, []string{"F1: 0"}, 0, ""},
	}
	for _, tt := range tests {
		r := receiptOf(t, tt.choices, tt.features...)
		questions := r.questions()
		settled := 0
		var got []string
		for _, q := range questions {
			if q.Settled {
				settled++
				continue
			}
			got = append(got, fmt.Sprintf("%s: %d", faultNames(q.Faults), len(q.Options)))
			if q.Number != len(got) {
				t.Errorf("%s: question %d is number %d", tt.name, len(got), q.Number)
			}
			if len(q.Options) == 0 && q.Wanted == "" {
				t.Errorf("%s: question %d cannot be answered", tt.name, q.Number)
			}
		}
		if strings.Join(got, "; ") != strings.Join(tt.want, "; ") || settled != tt.settled {
			t.Errorf("%s: got %v and %d settled, want %v and %d", tt.name, got, settled, tt.want, tt.settled)
		}
		if example := answerExample(questions); example != tt.example {
			t.Errorf("%s: the example is %q, want %q", tt.name, example, tt.example)
		}
		page, text := writeReceipt(t, r, WriteReceiptHTML), writeReceipt(t, r, WriteReceiptText)
		if strings.Contains(text, "Questions for you") != (len(tt.want) > 0) {
			t.Errorf("%s: the mail asks wrongly:\n%s", tt.name, text)
		}
		for n := range tt.want {
			if mark := fmt.Sprintf("\n%d. ", n+1); !strings.Contains(text, mark) {
				t.Errorf("%s: the mail lacks question %d", tt.name, n+1)
			}
			if mark := fmt.Sprintf("<h3>%d. ", n+1); !strings.Contains(page, mark) {
				t.Errorf("%s: the page lacks question %d", tt.name, n+1)
			}
		}
		if strings.Contains(page, "already settled") != (tt.settled > 0) {
			t.Errorf("%s: the page shows settled readings wrongly", tt.name)
		}
	}
}

// Every finding that could need an answer can be answered.
func TestPlainAnswers(t *testing.T) {
	for _, e := range finding.Table {
		options, wanted := (Locale{}).plainAnswers(e.Code)
		if (len(options) == 0) == (wanted == "") {
			t.Errorf("%s: %d options and %q", e.Code, len(options), wanted)
		}
	}
}

func TestToClient(t *testing.T) {
	send := finding.Tell(finding.Say("Ask the client for the area as a polygon."), finding.Say("Please send the area as a polygon."))
	for _, tt := range []struct {
		text finding.Text
		want string
	}{
		{finding.Say("“%s” crosses itself.", "St. Mary. North"), "“St. Mary. North” crosses itself."},
		{finding.Sentences(finding.Say("The file holds no polygon."), send), "The file holds no polygon. Please send the area as a polygon."},
		{send, "Please send the area as a polygon."},
		{finding.Say("So: %s", finding.Start(send)), "So: Please send the area as a polygon."},
		{finding.Plain("Only 1 path. If it walks around the site, it can be taken (--close-path). It is left out."), "Only 1 path. It is left out."},
		{finding.Plain("Give the system (--crs)."), "Give the system (--crs)."},
		{finding.Plain("“North -- South” touches itself."), "“North -- South” touches itself."},
		{finding.Plain("a\x1b[2Jb"), "a\ufffd[2Jb"},
	} {
		if got := metric.toClient(tt.text); got != tt.want {
			t.Errorf("%q: got %q, want %q", tt.text, got, tt.want)
		}
	}
}
