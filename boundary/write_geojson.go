package boundary

import (
	"bytes"
	"fmt"
	"io"
)

type writtenFeature struct {
	Type       string            `json:"type"`
	Properties writtenProperties `json:"properties"`
	Geometry   jobGeometry       `json:"geometry"`
}

type writtenProperties struct {
	Name string `json:"name"`
}

// WriteGeoJSON writes areas as GeoJSON (RFC 7946): a feature with a name for
// each polygon that SplitAreas makes of them, without heights. It fails as
// SplitAreas does, before anything is written.
func WriteGeoJSON(w io.Writer, areas []Area) error {
	split, err := SplitAreas(areas)
	if err != nil {
		return err
	}
	features := make([]writtenFeature, len(split))
	for i, area := range split {
		var rings [][]position
		for _, ring := range area.Shape[0] {
			rings = append(rings, positions(ring))
		}
		features[i] = writtenFeature{"Feature", writtenProperties{area.Name}, jobGeometry{"Polygon", rings}}
	}
	var out bytes.Buffer
	out.WriteString("{\n  \"type\": \"FeatureCollection\"")
	if err := writeLines(&out, "features", features); err != nil {
		return fmt.Errorf("writing GeoJSON: %w", err)
	}
	out.WriteString("\n}\n")
	_, err = w.Write(out.Bytes())
	return err
}
