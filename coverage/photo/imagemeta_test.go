package photo

import (
	"bytes"
	"math"
	"testing"

	"github.com/bep/imagemeta"
)

// The library imagemeta is the second opinion on positions and focal lengths of
// sound photos. It is not used itself: it takes a fraction over 0 as 0, which
// moves a position by tens of kilometres without an error.
func TestAgainstImagemeta(t *testing.T) {
	for name, p := range samples() {
		var out bytes.Buffer
		if err := Encode(&out, thumbnail(), p); err != nil {
			t.Fatal(err)
		}
		ours, err := decode(out.Bytes())
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var tags imagemeta.Tags
		_, err = imagemeta.Decode(imagemeta.Options{
			R: bytes.NewReader(out.Bytes()), ImageFormat: imagemeta.JPEG, Sources: imagemeta.EXIF,
			HandleTag: func(tag imagemeta.TagInfo) error { tags.Add(tag); return nil },
		})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		lat, lon, err := tags.GetLatLong()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if math.Abs(lat-ours.Position.Lat()) > 1e-9 || math.Abs(lon-ours.Position.Lon()) > 1e-9 {
			t.Errorf("%s: we read %v, imagemeta %v, %v", name, ours.Position, lon, lat)
		}
	}
}
