package report

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"selvage/boundary/finding"
)

func TestSentence(t *testing.T) {
	de := Units{Locale: locale(t, "de")}
	field := finding.Say("“%s”", "Field 1.5 m, 30 ft")
	parts := finding.Say("%s and %s overlap on %s of %s, and come %s near, in plan 1.5.kml of %s (%s).",
		finding.Start(finding.Say("part %d of %s", 2, field)), field, finding.Area(2280), finding.Area(121_800), finding.Close(0.0254),
		finding.Counted(1234, "feature", "features"), finding.Share(0.123))
	lens := finding.Say("sensor %s × %s mm", finding.Decimal("%g", 13.2), finding.Decimal("%g", 8.8))
	rule := finding.Sentences(finding.Say("Flown at %s.", finding.Tenths(130)), finding.Text{}, finding.Say("The rule allows %s.", finding.Stated(120)))
	tests := []struct{ got, want string }{
		// An acre is 4046.8564224 m², and 2280 m² are 24,541.7 ft².
		{metric.Sentence(parts), "Part 2 of “Field 1.5 m, 30 ft” and “Field 1.5 m, 30 ft” overlap on 2,280 m² of 12.18 ha, and come 2.5 cm near, in plan 1.5.kml of 1,234 features (12.3 %)."},
		{de.Sentence(parts), "Part 2 of “Field 1.5 m, 30 ft” and “Field 1.5 m, 30 ft” overlap on 2.280 m² of 12,18 ha, and come 2,5 cm near, in plan 1.5.kml of 1.234 features (12,3 %)."},
		{imperial.Sentence(parts), "Part 2 of “Field 1.5 m, 30 ft” and “Field 1.5 m, 30 ft” overlap on 24,542 ft² of 30.10 acres, and come 1.0 in near, in plan 1.5.kml of 1,234 features (12.3 %)."},
		{both.Sentence(rule), "Flown at 130.0 m (426.5 ft). The rule allows 120 m (394 ft)."},
		{imperial.Sentence(rule), "Flown at 426.5 ft. The rule allows 120 m (394 ft)."},
		{de.Sentence(lens), "sensor 13,2 × 8,8 mm"},
		{de.Sentence(finding.Plain("1,234.5 m, as it stands")), "1,234.5 m, as it stands"},
		{metric.Sentence(finding.Say("“%s”", "a\x1b[2Jb\nc\u202e")), "“a�[2Jb c�”"},
		{de.toClient(finding.Sentences(finding.Say("Two of %s.", finding.Number("1,234")), finding.Tell(finding.Say("Ask the client."), finding.Say("Please say.")), finding.Say("See --crs."))), "Two of 1.234. Please say."},
	}
	for i, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("%d: got %q\nwant %q", i, tt.got, tt.want)
		}
	}
}

// TestSentencesSayWhatTablesSay holds every kind of figure in a sentence against
// the function that writes it in a table, in all measures and several locales.
func TestSentencesSayWhatTablesSay(t *testing.T) {
	locales := []Locale{{}, locale(t, "de"), locale(t, "fr"), locale(t, "en-US")}
	rapid.Check(t, func(t *rapid.T) {
		u := Units{rapid.SampledFrom([]Measures{Metric, Imperial, Both}).Draw(t, "measures"), rapid.SampledFrom(locales).Draw(t, "locale")}
		x := rapid.Float64Range(-1, 1).Draw(t, "digits") * math.Pow10(rapid.IntRange(-4, 7).Draw(t, "size"))
		n := rapid.IntRange(0, 3_000_000).Draw(t, "count")
		for name, pair := range map[string][2]any{
			"area": {finding.Area(x), u.Area(x)}, "length": {finding.Length(x), u.Length(x)}, "chainage": {finding.Tenths(x), u.Chainage(x)},
			"close": {finding.Close(x), u.Close(x)}, "given": {finding.Given(x), u.Round(x)}, "far": {finding.Far(x), u.Far(x)},
			"stated": {finding.Stated(x), u.Stated(x)}, "speed": {finding.Speed(x), u.Speed(x)}, "GSD": {finding.GSD(x), u.GSD(x)},
			"share": {finding.Share(x), u.Overlap(x)}, "count": {finding.Counted(n, "gap", "gaps"), u.Count(n, "gap", "gaps")},
			"number": {finding.Whole(n), u.Number(n)},
		} {
			text := finding.Say("It is %s here.", pair[0])
			if got, want := u.Sentence(text), fmt.Sprintf("It is %s here.", pair[1]); got != want {
				t.Errorf("%s: the sentence says %q, the table %q", name, got, want)
			}
			if got, want := text.String(), (Units{}).Sentence(text); got != want {
				t.Errorf("%s: the record says %q, the sheet %q", name, got, want)
			}
			if u.Measures == Imperial && name != "stated" && (strings.Contains(u.Sentence(text), " m ") || strings.Contains(u.Sentence(text), "m²")) {
				t.Errorf("%s: %q is not imperial", name, u.Sentence(text))
			}
		}
	})
}
