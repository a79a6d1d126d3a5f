package boundary

import (
	"fmt"
	"testing"
)

func TestReadCRS(t *testing.T) {
	for name, want := range map[string]bool{
		"urn:ogc:def:crs:OGC:1.3:CRS84":                true,
		"urn:ogc:def:crs:OGC::CRS84":                   true,
		"OGC:CRS84":                                    true,
		"EPSG:4326":                                    true,
		"urn:ogc:def:crs:EPSG::4326":                   true,
		"http://www.opengis.net/def/crs/EPSG/0/4326":   true,
		"http://www.opengis.net/def/crs/OGC/1.3/CRS84": true,
		"EPSG:3857":                                    false,
		"urn:ogc:def:crs:EPSG::4258":                   false,
		"ESRI:4326":                                    false,
		"CRS27":                                        false,
		"":                                             false,
	} {
		text := fmt.Sprintf(`{"crs":{"type":"name","properties":{"name":%q}},"type":"FeatureCollection","features":[]}`, name)
		_, err := Read("a.geojson", []byte(text), Options{})
		if (err == nil) != want {
			t.Errorf("%q: %v", name, err)
		}
	}
	if _, err := Read("a.geojson", []byte(`{"crs":null,"type":"FeatureCollection","features":[]}`), Options{}); err != nil {
		t.Error(err)
	}
}
