package finding

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
)

// What goes beyond these bounds is not written, and taken as damaged.
const (
	mostSaid = 1 << 16 // bytes
	deepest  = 100     // texts within texts
)

// figure is a kind of figure as machine output has it.
type figure struct {
	key      string
	decimals int // more where it would be said otherwise
	kind     reflect.Type
}

var figures = []figure{
	{"area_m2", 4, reflect.TypeFor[Area]()},
	{"length_m", 4, reflect.TypeFor[Length]()},
	{"tenths_m", 4, reflect.TypeFor[Tenths]()},
	{"close_m", 4, reflect.TypeFor[Close]()},
	{"given_m", 4, reflect.TypeFor[Given]()},
	{"distance_m", 4, reflect.TypeFor[Distance]()},
	{"far_m", 4, reflect.TypeFor[Far]()},
	{"stated_m", 4, reflect.TypeFor[Stated]()},
	{"speed_m_s", 4, reflect.TypeFor[Speed]()},
	{"gsd_m", 6, reflect.TypeFor[GSD]()},
	{"share", 6, reflect.TypeFor[Share]()},
}

type saidText struct {
	Format string `json:"format"`
	Args   []any  `json:"args,omitempty"`
}

type saidCount struct {
	N    int    `json:"count"`
	One  string `json:"one"`
	Many string `json:"many"`
}

// Said is what stands beside the string of a text in machine output, from which
// it can be said to other readers; nothing where nothing is apart.
func (t Text) Said() json.RawMessage {
	said, apart := sayable(t).(saidText)
	if !apart || len(said.Args) == 0 {
		return nil
	}
	data, err := json.Marshal(said)
	if err != nil || len(data) > mostSaid {
		return nil
	}
	return data
}

// Read makes a Text of its string and what stood beside it. Where that is
// damaged, or says something else, the string stands.
func Read(text string, said json.RawMessage) Text {
	if t, ok := Parse(said); ok && t.String() == text {
		return t
	}
	if strings.Contains(text, "|") { // cuts a format short
		return Plain(text)
	}
	return Text{Format: strings.ReplaceAll(text, "%", "%%")}
}

// Parse reads what Said wrote, and tells whether it is sound.
func Parse(said json.RawMessage) (Text, bool) {
	if len(said) > mostSaid {
		return Text{}, false
	}
	var value any
	d := json.NewDecoder(bytes.NewReader(said))
	d.UseNumber()
	if d.Decode(&value) != nil {
		return Text{}, false
	}
	return parsedText(value, deepest)
}

// sayable is a part of a text as it is written.
func sayable(part any) any {
	switch x := part.(type) {
	case Text:
		said := saidText{x.Format, make([]any, len(x.Args))}
		for i, arg := range x.Args {
			said.Args[i] = sayable(arg)
		}
		if said.stands() || !said.fits() {
			return x.String()
		}
		return said
	case Start:
		return map[string]any{"start": sayable(Text(x))}
	case Paragraph:
		sentences := make([]any, len(x))
		for i, t := range x {
			sentences[i] = sayable(t)
		}
		return map[string]any{"sentences": sentences}
	case Told:
		return map[string]any{"pilot": sayable(x.Pilot), "client": sayable(x.Client)}
	case Count:
		return saidCount(x)
	case Number:
		return map[string]any{"number": string(x)}
	case int:
		return x
	}
	for _, f := range figures {
		if v := reflect.ValueOf(part); v.IsValid() && v.Type() == f.kind {
			return map[string]any{f.key: f.written(v.Float())}
		}
	}
	return fmt.Sprint(part)
}

// stands tells whether it is a string as it stands.
func (t saidText) stands() bool {
	if t.Format != "%s" || len(t.Args) != 1 {
		return false
	}
	_, is := t.Args[0].(string)
	return is
}

// fits tells whether the format takes just these arguments: %d whole numbers, and
// %s all others.
func (t saidText) fits() bool {
	format, args := t.Format, t.Args
	for {
		before, after, more := strings.Cut(format, "%")
		if strings.Contains(before, "|") {
			return false
		}
		if !more {
			return len(args) == 0
		}
		if format, more = strings.CutPrefix(after, "%"); more {
			continue
		}
		if len(args) == 0 {
			return false
		}
		verb := "s"
		if _, whole := args[0].(int); whole {
			verb = "d"
		}
		if format, more = strings.CutPrefix(after, verb); !more {
			return false
		}
		args = args[1:]
	}
}

func (f figure) of(x float64) any { return reflect.ValueOf(x).Convert(f.kind).Interface() }

// written is a figure with few decimals, from which the same is said. What was
// written and read is written again as it was.
func (f figure) written(x float64) any {
	if !finite(x) {
		return nil
	}
	said := fmt.Sprint(f.of(x))
	for _, decimals := range []int{8, f.decimals} {
		if y := Round(x, decimals); fmt.Sprint(f.of(y)) == said {
			x = y
		}
	}
	return json.Number(strconv.FormatFloat(x, 'f', -1, 64))
}

func parsedText(value any, depth int) (Text, bool) {
	if s, is := value.(string); is {
		return Plain(s), true
	}
	object, is := value.(map[string]any)
	format, formatted := object["format"].(string)
	args, listed := object["args"].([]any)
	if !is || !formatted || depth == 0 || len(object) != 1 && (!listed || len(object) != 2) {
		return Text{}, false
	}
	said := saidText{format, make([]any, len(args))}
	for i, arg := range args {
		var sound bool
		if said.Args[i], sound = parsed(arg, depth-1); !sound {
			return Text{}, false
		}
	}
	return Text(said), said.fits()
}

// parsed is a part of a text.
func parsed(value any, depth int) (part any, sound bool) {
	switch value := value.(type) {
	case string:
		return value, true
	case json.Number:
		n, err := strconv.Atoi(value.String())
		return n, err == nil
	case map[string]any:
		switch len(value) {
		case 1:
			for key, inner := range value {
				if key != "format" {
					return parsedOne(key, inner, depth)
				}
			}
		case 2:
			if _, told := value["pilot"]; told {
				pilot, sound := parsedText(value["pilot"], depth)
				client, sounds := parsedText(value["client"], depth)
				return Told{pilot, client}, sound && sounds
			}
		case 3:
			return parsedCount(value)
		}
		return parsedText(value, depth)
	}
	return nil, false
}

// parsedOne is what has a key to itself.
func parsedOne(key string, value any, depth int) (part any, sound bool) {
	switch key {
	case "start":
		t, sound := parsedText(value, depth)
		return Start(t), sound
	case "number":
		s, sound := value.(string)
		return Number(s), sound
	case "sentences":
		list, sound := value.([]any)
		all := make(Paragraph, len(list))
		for i, sentence := range list {
			var is bool
			all[i], is = parsedText(sentence, depth)
			sound = sound && is
		}
		return all, sound
	}
	for _, f := range figures {
		if f.key != key {
			continue
		}
		if value == nil {
			return f.of(math.NaN()), true
		}
		number, _ := value.(json.Number)
		x, err := number.Float64()
		return f.of(x), err == nil
	}
	return nil, false
}

func parsedCount(object map[string]any) (part any, sound bool) {
	number, _ := object["count"].(json.Number)
	n, err := strconv.Atoi(number.String())
	one, isOne := object["one"].(string)
	many, isMany := object["many"].(string)
	return Count{n, one, many}, err == nil && isOne && isMany && !strings.ContainsAny(one+many, "%|")
}
