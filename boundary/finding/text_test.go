package finding

import (
	"encoding/json"
	"testing"
)

func TestText(t *testing.T) {
	field := Say("“%s”", "North 5 %")
	for _, tt := range []struct {
		text Text
		want string
	}{
		{Text{}, ""},
		{Say("100 %% of it."), "100 % of it."},
		{Plain("100 % of it."), "100 % of it."},
		{Say("%s has %s.", Start(Say("part %d of %s", 2, field)), Counted(1234, "vertex", "vertices")), "Part 2 of “North 5 %” has 1,234 vertices."},
		{Say("%s, %s.", Start(field), Counted(1, "vertex", "vertices")), "“North 5 %”, 1 vertex."},
		{Sentences(Say("One."), Text{}, Say("Two.")), "One. Two."},
		{Either(true, Say("a"), Say("b")), "a"},
		{Commas(nil), ""},
		{And([]Text{Say("a"), Say("b"), Say("c")}), "a, b and c"},
		{Or([]Text{Say("a"), Say("b")}), "a or b"},
		{And([]Text{Say("a")}), "a"},
		{Tell(Say("Ask the client."), Say("Please say.")), "Ask the client."},
		{Tell(Say("Ask the client."), Say("Please say.")).ToClient(), "Please say."},
		{Sentences(Say("%s.", Start(Say("a"))), Tell(Say("Ask."), Say("Say."))).ToClient(), "A. Say."},
		{Say("%s, %s, %s", Area(47.26), Area(121_800), Area(0.01)), "47.3 m², 12.18 ha, <0.1 m²"},
		{Say("%s, %s, %s, %s", Close(0.032), Close(0.05), Close(2.336), Close(831.4)), "3.2 cm, 5 cm, 2.34 m, 831 m"},
		{Say("%s, %s, %s, %s", Length(8.25), Tenths(1203.44), Given(30), Far(73_412)), "8.2 m, 1,203.4 m, 30 m, 73.4 km"},
		{Say("%s, %s, %s, %s", Stated(120), Stated(10_000), Speed(8), GSD(0.0234)), "120 m, 10 km, 8.0 m/s, 2.34 cm/px"},
		{Say("%s, %s, %s, %s", Share(0.75), Share(0.123), Share(0.0001), Share(0.9999)), "75 %, 12.3 %, <0.1 %, >99.9 %"},
	} {
		if got := tt.text.String(); got != tt.want {
			t.Errorf("got %q, want %q", got, tt.want)
		}
	}
}

func BenchmarkFinding(b *testing.B) {
	for b.Loop() {
		f := Finding{Code: Spike, Severity: Mended, Amount: 2.5, Unit: "m", Text: Say("%s runs out to vertex %d: a spike of %s.",
			Start(Say("the outline of %s", Say("“%s”", "North"))), 17, Close(2.5))}
		if _, err := json.Marshal(f); err != nil {
			b.Fatal(err)
		}
	}
}
