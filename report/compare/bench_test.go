package compare

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"selvage/report"
)

// denseShapes is the GeoJSON of an audit whose site has many corners.
func denseShapes(b *testing.B, corners int) string {
	n := fakeNote()
	var ring strings.Builder
	for i := range corners + 1 {
		a := 2 * math.Pi * float64(i%corners) / float64(corners)
		fmt.Fprintf(&ring, "[%.8f,%.8f],", 0.25+0.004*math.Cos(a), 51.05+0.003*math.Sin(a))
	}
	text := render(b, n, report.WriteGeoJSON)
	feature := fmt.Sprintf(`{"type":"Feature","properties":{"role":"site"},"geometry":{"type":"Polygon","coordinates":[[%s]]}},`, strings.TrimSuffix(ring.String(), ","))
	return strings.Replace(text, `"features":[`, `"features":[`+feature, 1)
}

func BenchmarkReadShapes(b *testing.B) {
	text := []byte(denseShapes(b, 200_000))
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if s, err := readShapes(bytes.NewReader(text)); err != nil || len(s.Site) != 2 {
			b.Fatal(err)
		}
	}
}
