package geotiff

import (
	"bytes"
	"encoding/binary"
	"image"
	"math"
	"testing"

	"golang.org/x/image/tiff"
)

// What is written is refused, or golang.org/x/image/tiff reads the same cells.
func FuzzWrite(f *testing.F) {
	f.Add([]byte("\x00\x01\x00\x02\xff\xff"), 3, 1, 7.5, 1e-5, "counts", uint16(math.MaxUint16))
	f.Add([]byte{}, 0, 0, math.NaN(), math.Inf(1), "a\x00b", uint16(0))
	f.Add([]byte("\x00\x01"), math.MaxInt, 2, 0.0, 0.0, "", uint16(1))
	f.Fuzz(func(t *testing.T, cells []byte, columns, rows int, corner, step float64, about string, none uint16) {
		r := Raster{West: corner, North: corner, StepEast: step, StepSouth: step, Columns: columns, Rows: rows, NoData: none, Description: about}
		for ; len(cells) >= 2; cells = cells[2:] {
			r.Values = append(r.Values, binary.BigEndian.Uint16(cells))
		}
		var out bytes.Buffer
		if err := Write(&out, r); err != nil {
			if columns > 0 && columns <= 1e6 && rows > 0 && rows <= 1e6 && columns*rows == len(r.Values) {
				t.Error(err)
			}
			return
		}
		picture, err := tiff.Decode(&out)
		if err != nil {
			t.Fatal(err)
		}
		grey, ok := picture.(*image.Gray16)
		if !ok || grey.Bounds() != image.Rect(0, 0, columns, rows) {
			t.Fatalf("%T of %v", picture, picture.Bounds())
		}
		for k, want := range r.Values {
			if got := grey.Gray16At(k%columns, k/columns).Y; got != want {
				t.Fatalf("cell %d: %d, want %d", k, got, want)
			}
		}
	})
}
