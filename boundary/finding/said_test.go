package finding

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestSaid(t *testing.T) {
	for _, tt := range []struct {
		text Text
		want string
	}{
		{Text{}, ""},
		{Plain("12 m of “North”"), ""},
		{Say("100 %% of it."), ""},
		{Say("%.4f", 2.5), ""}, // a form of its own: the string stands
		{Say("%s is %s long.", Say("“%s”", "North"), Length(15.23456)), `{"format":"%s is %s long.","args":[{"format":"“%s”","args":["North"]},{"length_m":15.2346}]}`},
		{Say("%s: %s", Plain("As it stands"), Say("%.1f", 2.5)), `{"format":"%s: %s","args":["As it stands","2.5"]}`},
		{Say("vertex %d of %s", 3, Counted(1234, "vertex", "vertices")), `{"format":"vertex %d of %s","args":[3,{"count":1234,"one":"vertex","many":"vertices"}]}`},
		{Say("%s", Start(Say("part %d", 2))), `{"format":"%s","args":[{"start":{"format":"part %d","args":[2]}}]}`},
		{Sentences(Say("a"), Text{}), `{"format":"%s","args":[{"sentences":[{"format":"a"},{"format":""}]}]}`},
		{Tell(Say("a"), Plain("b")), `{"format":"%s","args":[{"client":"b","pilot":{"format":"a"}}]}`},
		{Say("%s", Area(math.NaN())), `{"format":"%s","args":[{"area_m2":null}]}`},
		// 0.04996 m are "<0.1 m", and 0.05 m are "0.1 m".
		{Say("%s", Length(0.04996)), `{"format":"%s","args":[{"length_m":0.04996}]}`},
		{Say("%s", Number("1,234")), `{"format":"%s","args":[{"number":"1,234"}]}`},
	} {
		if got := string(tt.text.Said()); got != tt.want {
			t.Errorf("%s:\n got %s\nwant %s", tt.text, got, tt.want)
		}
	}
}

func drawnText(t *rapid.T, depth int) Text {
	if depth == 0 || rapid.IntRange(0, 3).Draw(t, "names") == 0 {
		return Say("“%s” of %%", rapid.String().Draw(t, "name"))
	}
	inner := func() Text { return drawnText(t, depth-1) }
	x := rapid.Float64Range(-1, 1).Draw(t, "digits") * math.Pow10(rapid.IntRange(-6, 7).Draw(t, "size"))
	part := rapid.SampledFrom([]func() any{
		func() any { return inner() },
		func() any { return Start(inner()) },
		func() any { return Paragraph{inner(), Text{}, inner()} },
		func() any { return Told{inner(), inner()} },
		func() any { return Counted(rapid.IntRange(-2, 3000).Draw(t, "n"), "gap", "gaps") },
		func() any { return Decimal("%.2f", x) },
		func() any { return figures[rapid.IntRange(0, len(figures)-1).Draw(t, "kind")].of(x) },
	})
	return Say("%s, %s; vertex %d.", part.Draw(t, "first")(), part.Draw(t, "second")(), rapid.IntRange(0, 99).Draw(t, "vertex"))
}

// What is read says what was written, to clients too, and is written as it was.
func TestSaidAndRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := drawnText(t, 3)
		said := text.Said()
		back := Read(text.String(), said)
		if back.String() != text.String() || back.ToClient().String() != text.ToClient().String() {
			t.Errorf("%q was read as %q from %s", text, back, said)
		}
		if again := back.Said(); string(again) != string(said) || said == nil {
			t.Errorf("%s was written again as %s", said, again)
		}
	})
}

// Whatever stands beside a text, it is said as it is.
func TestDamagedSaid(t *testing.T) {
	text := "12.0 m of 5 gaps"
	sound := `{"format":"%s of %s","args":[{"length_m":12},{"count":5,"one":"gap","many":"gaps"}]}`
	if _, ok := Parse([]byte(sound)); !ok || Read(text, []byte(sound)).Said() == nil {
		t.Fatal("sound parts are refused")
	}
	deep := strings.Repeat(`{"format":"%s","args":[`, 101) + `"` + text + `"` + strings.Repeat("]}", 101)
	for _, said := range []string{
		"", "null", "1", "[]", `"words"`, "{}", "{", `{"format":1}`, `{"format":"%s"}`, deep, `{"format":"` + strings.Repeat(" ", mostSaid) + `"}`,
		strings.Replace(sound, "12", "13", 1),
		strings.Replace(sound, "12", "1e999", 1),
		strings.Replace(sound, "12", `"12"`, 1),
		strings.Replace(sound, "length_m", "length_ft", 1),
		strings.Replace(sound, "%s of", "%d of", 1),
		strings.Replace(sound, "%s of", "%v of", 1),
		strings.Replace(sound, "%s of", "%[2]s of", 1),
		strings.Replace(sound, "%s of", "%1000000s of", 1),
		strings.Replace(sound, "of %s", "of", 1),
		strings.Replace(sound, "%s of", "%s|of", 1),
		strings.Replace(sound, "%s of", "%s of %", 1),
		strings.Replace(sound, `"gaps"`, `"%d gaps"`, 1),
		strings.Replace(sound, `"gaps"`, `null`, 1),
		strings.Replace(sound, `"one"`, `"two"`, 1),
		strings.Replace(sound, `"args":`, `"args":{},"more":`, 1),
		strings.Replace(sound, `[`, `[null,`, 1),
		strings.Replace(sound, `[`, `[[],`, 1),
	} {
		for _, text := range []string{text, "100 % of it", "a|b"} {
			if got := Read(text, []byte(said)); got.String() != text || got.Said() != nil {
				t.Errorf("%.200s: said %q, with %s", said, got, got.Said())
			}
		}
	}
}

func FuzzRead(f *testing.F) {
	said := Sentences(Say("%s of %s, %s", Length(12), Counted(5, "gap", "gaps"), Start(Say("a"))), Tell(Say("%d", 3), Say("b"))).Said()
	f.Add("12.0 m of 5 gaps, A 3", []byte(said))
	f.Fuzz(func(t *testing.T, text string, said []byte) {
		read := Read(text, said)
		if read.String() != text {
			t.Fatalf("%q is read as %q", text, read)
		}
		again := Read(text, read.Said())
		if a, b := read.Said(), again.Said(); string(a) != string(b) {
			t.Fatalf("%s is written again as %s", a, b)
		}
	})
}
