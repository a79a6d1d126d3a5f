package terrain

import (
	"bytes"
	"math"
	"testing"

	"github.com/paulmach/orb"
)

// checkRead has a file of any bytes read whole and in part: what comes back
// is an error or a grid of finite heights.
func checkRead(t *testing.T, name string, data []byte) {
	o := Options{Limits: Limits{Bytes: 1 << 20, Side: 2000, Cells: 1 << 18}}
	f, err := Open(name, bytes.NewReader(data), int64(len(data)), o)
	if err != nil {
		if len(err.Error()) > 700 {
			t.Errorf("a long error: %v", err)
		}
		return
	}
	if !(f.Resolution > 0) || f.Columns < 1 || f.Rows < 1 {
		t.Errorf("%+v", f.Source)
	}
	b := f.Bound
	f.Window(orb.Bound{Min: b.Center(), Max: b.Max})
	g, err := f.Whole()
	if err != nil {
		return
	}
	columns, rows := g.Size()
	for j := range rows {
		for i := range columns {
			if h, _, ok := g.At(i, j); ok && !(math.Abs(h) <= beyondEarth) {
				t.Fatalf("a height of %v", h)
			}
			if i*j > 1000 {
				break
			}
		}
	}
	g.Elevation(b.Center())
	NewMosaic(g, g).Elevation(b.Max)
}

func FuzzReadTIFF(f *testing.F) {
	n := 0
	everyFormat(func(_ string, w format) {
		if n++; n%7 == 0 {
			f.Add(encodeTIFF(hills(20, 18), w))
		}
	})
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, "a.tif", data) })
}

func FuzzReadASCII(f *testing.F) {
	f.Add([]byte("ncols 2\nnrows 2\nxllcorner 10\nyllcorner 50\ncellsize 0.1\nNODATA_value -9999\n1 2\n-9999 3e1\n"))
	f.Add([]byte("NROWS 2 NCOLS 2 XLLCENTER 10 YLLCENTER 50 DX 0.1 DY .2 1 2 nan 4"))
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, "a.asc", data) })
}

func FuzzReadHGT(f *testing.F) {
	f.Add("N37W122.hgt", int64(2*1201*1201), []byte{1, 2, 3})
	f.Add("s01e180.hgt", int64(2*3601*3601), []byte{})
	f.Fuzz(func(t *testing.T, name string, size int64, data []byte) {
		file, err := Open(name+".hgt", bytes.NewReader(data), size, Options{})
		if err != nil {
			return
		}
		if _, err := file.Whole(); err == nil && len(data) < 2*1201*1201 {
			t.Error("heights from nothing")
		}
	})
}

func FuzzLZW(f *testing.F) {
	f.Add(packLZW([]byte("the quick brown fox jumps over the lazy dog, the lazy dog")))
	f.Add(packLZW(bytes.Repeat([]byte{1, 1, 2}, 3000)))
	f.Fuzz(func(t *testing.T, data []byte) {
		z, err := newLZW(peeker(data))
		if err != nil {
			return
		}
		out := make([]byte, 1<<12)
		for range 100 {
			if n, err := z.Read(out); err != nil || n == 0 {
				return
			}
		}
	})
}
