package boundary

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
)

// drawnRing is the text of a closed ring of n vertices around the n-th field,
// written with format, which takes longitude and latitude.
func drawnRing(field, n int, format, between string) string {
	vertices := make([]string, n+1)
	for i := range vertices {
		a := 2 * math.Pi * float64(i%n) / float64(n)
		r := 0.004 + 0.0004*math.Sin(9*a)
		vertices[i] = fmt.Sprintf(format, 10+0.01*float64(field%100)+r*math.Cos(a), 52+0.01*float64(field/100)+r*math.Sin(a))
	}
	return strings.Join(vertices, between)
}

// drawing is a file of many fields of few vertices each, or of few of many.
type drawing struct {
	name             string
	fields, vertices int
}

var drawings = []drawing{{"outline", 1, 200_000}, {"fields", 10_000, 20}}

func (d drawing) kml() []byte {
	var out bytes.Buffer
	out.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document>\n")
	for i := range d.fields {
		fmt.Fprintf(&out, "<Placemark>\n  <name>Field %d</name>\n  <styleUrl>#field</styleUrl>\n  <Polygon><outerBoundaryIs><LinearRing><coordinates>\n%s\n</coordinates></LinearRing></outerBoundaryIs></Polygon>\n</Placemark>\n",
			i+1, drawnRing(i, d.vertices, "%.8f,%.8f,0", " "))
	}
	out.WriteString("</Document></kml>\n")
	return out.Bytes()
}

func (d drawing) geojson() []byte {
	var out bytes.Buffer
	out.WriteString("{\"type\": \"FeatureCollection\", \"features\": [\n")
	for i := range d.fields {
		if i > 0 {
			out.WriteString(",\n")
		}
		fmt.Fprintf(&out, `{"type": "Feature", "properties": {"name": "Field %d", "crop": "barley", "owner": null}, "geometry": {"type": "Polygon", "coordinates": [[%s]]}}`,
			i+1, drawnRing(i, d.vertices, "[%.8f, %.8f]", ", "))
	}
	out.WriteString("\n]}\n")
	return out.Bytes()
}

// benchmarkRead measures Read beside the bare walk of the standard library's
// decoder over the same text, where there is one.
func benchmarkRead(b *testing.B, write func(drawing) []byte, walk func(text []byte) error) {
	for _, d := range drawings {
		text := write(d)
		b.Run(d.name+"/read", func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				f, err := Read("a", text, Options{})
				if err != nil || len(f.Parts) != d.fields {
					b.Fatal(err)
				}
			}
		})
		if walk == nil {
			continue
		}
		b.Run(d.name+"/decoder", func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if err := walk(text); !errors.Is(err, io.EOF) {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkReadKML(b *testing.B) {
	benchmarkRead(b, drawing.kml, func(text []byte) error {
		for dec := xml.NewDecoder(bytes.NewReader(text)); ; {
			if _, err := dec.Token(); err != nil {
				return err
			}
		}
	})
}

func BenchmarkReadGeoJSON(b *testing.B) {
	benchmarkRead(b, drawing.geojson, func(text []byte) error {
		dec := json.NewDecoder(bytes.NewReader(text))
		for {
			if _, err := dec.Token(); err != nil {
				return err
			}
		}
	})
}

func (d drawing) wkt() []byte {
	var out bytes.Buffer
	for i := range d.fields {
		fmt.Fprintf(&out, "POLYGON((%s))\n", drawnRing(i, d.vertices, "%.8f %.8f", ", "))
	}
	return out.Bytes()
}

func BenchmarkReadWKT(b *testing.B) { benchmarkRead(b, drawing.wkt, nil) }
