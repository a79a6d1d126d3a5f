package boundary

import (
	"bytes"
	"math"
	"slices"
	"strings"

	"selvage/boundary/finding"
)

// ownBuffer is what a feature says of its buffer.
type ownBuffer struct {
	text         string // as the file has it
	metres       float64
	fault        finding.Text // goes on after the text: why it is not used, "" when it is
	line, column int
}

// isBuffer reports whether a property of this name is the buffer of its feature.
func isBuffer(key string) bool { return strings.EqualFold(strings.TrimSpace(key), "buffer") }

// addBuffer takes note of the buffer that stands at offset, of the feature at
// hand. Without any text it is none.
func (r *reading) addBuffer(offset int64, text string) {
	text = strings.TrimSpace(text)
	if text == "" {
		return
	}
	if r.buffers == nil {
		r.buffers = map[int]ownBuffer{}
	}
	own, known := r.buffers[r.feature]
	switch {
	case !known:
		own = ownBuffer{text: text}
		own.metres, own.fault = parseBuffer(text)
	case own.text != text && own.fault.Empty():
		own.fault = finding.Say("is not the only one: there is %s too", quote(text))
	}
	if !own.fault.Empty() && own.line == 0 {
		own.line, own.column = r.src.position(offset)
	}
	r.buffers[r.feature] = own
}

// bufferUnits are the words that may stand behind the number, in metres.
var bufferUnits = []struct {
	size  float64
	words []string
}{
	{1, []string{"", "m", "metre", "metres", "meter", "meters"}},
	{1000, []string{"km"}},
	{0.01, []string{"cm"}},
	{0.001, []string{"mm"}},
	{0.3048, []string{"ft", "foot", "feet"}}, // the international foot
	{0.0254, []string{"in"}},
}

// parseBuffer reads a length such as "30m", "-5 m" or "100 ft"; without a unit
// it is metres. The fault goes on after the text.
func parseBuffer(text string) (metres float64, fault finding.Text) {
	plain := []byte(strings.Replace(text, "−", "-", 1)) // the minus sign of typesetters
	number, end := scanDecimal(plain, 0)
	unit := strings.ToLower(string(bytes.TrimSpace(plain[end:])))
	for _, u := range bufferUnits {
		if end > 0 && slices.Contains(u.words, unit) {
			metres = number * u.size
			switch {
			case metres == 0:
				return 0, finding.Say("would end the flight area at the edge itself, which is then seen from one side only")
			case math.Abs(metres) > mostBuffer:
				return 0, finding.Say("is more than %s", finding.Stated(mostBuffer))
			}
			return metres, finding.Text{}
		}
	}
	return 0, finding.Say("is not a length such as 30 m or 100 ft")
}

// giveBuffers gives parts the buffer of their feature, and tells of it.
func (r *reading) giveBuffers() []finding.Finding {
	var given []finding.Text
	var unread []finding.Finding
	var first finding.Place
	told := 0
	for i := range r.parts {
		place := r.parts[i].Place
		own, known := r.buffers[place.Feature]
		if !known {
			continue
		}
		if own.fault.Empty() {
			r.parts[i].Buffer = own.metres
		}
		if place.Feature == told {
			continue
		}
		told, place.Part = place.Feature, 0
		if !own.fault.Empty() {
			place.Line, place.Column = own.line, own.column
			unread = append(unread, finding.Finding{Code: finding.BufferUnread, Severity: finding.NeedsAnswer, Place: place,
				Text: finding.Say("The buffer %s of %s %s, so it is not used; the part gets the buffer of the job.", quote(own.text), partName(place), own.fault)})
			continue
		}
		if given = append(given, finding.Say("%s %s", partName(place), bufferWords(own.metres))); len(given) == 1 {
			first = place
		}
	}
	if more := len(unread) - maxListed; more > 0 {
		last := &unread[maxListed]
		last.Amount, last.Unit = float64(more), "features"
		last.Text = finding.Say("The buffers of %s are not used either.", finding.Counted(more, "more feature", "more features"))
		unread = unread[:maxListed+1]
	}
	if len(given) == 0 {
		return unread
	}
	n := len(given)
	if n > maxListed {
		given = append(given[:maxListed:maxListed], finding.Say("%s more", finding.Whole(n-maxListed)))
	}
	return append([]finding.Finding{{Code: finding.OwnBuffer, Severity: finding.Note, Place: first, Amount: float64(n), Unit: "features",
		Text: finding.Say("%s before the buffer of the job: %s.", finding.Counted(n, "feature brings a buffer of its own, which goes", "features bring buffers of their own, which go"), finding.And(given))}}, unread...)
}

// bufferWords is a buffer in words: "50.0 m", "5.00 m inwards".
func bufferWords(buffer float64) finding.Text {
	if buffer < 0 {
		return finding.Say("%s inwards", finding.Close(-buffer))
	}
	return finding.Say("%s", finding.Close(buffer))
}

// IgnoreBuffers takes the buffers that features bring from all parts, and says
// so in place of what reading said of them.
func (f *File) IgnoreBuffers() {
	n := 0
	for i := range f.Parts {
		if f.Parts[i].Buffer != 0 && (i == 0 || f.Parts[i].Place.Feature != f.Parts[i-1].Place.Feature) {
			n++
		}
		f.Parts[i].Buffer = 0
	}
	var kept []finding.Finding
	for _, found := range f.Findings {
		if found.Code == finding.OwnBuffer {
			found.Text = finding.Say("%s, as asked.", finding.Counted(n, "feature brings a buffer of its own, which is not used", "features bring buffers of their own, which are not used"))
		}
		if found.Code != finding.BufferUnread {
			kept = append(kept, found)
		}
	}
	f.Findings = kept
}
