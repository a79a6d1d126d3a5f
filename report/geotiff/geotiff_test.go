package geotiff

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"image"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"golang.org/x/image/tiff"
)

func random(columns, rows int) Raster {
	r := Raster{
		West: 2.2956377, North: 54.7020343, StepEast: 1.5536276214e-05, StepSouth: 8.997965082e-06,
		Columns: columns, Rows: rows, NoData: math.MaxUint16, Description: "counts",
	}
	rng := rand.New(rand.NewPCG(73, 74))
	for range columns * rows {
		v := uint16(rng.IntN(30))
		switch rng.IntN(8) {
		case 0:
			v = r.NoData
		case 1:
			v = uint16(rng.IntN(math.MaxUint16))
		}
		r.Values = append(r.Values, v)
	}
	return r
}

func written(t *testing.T, r Raster) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, r); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// The library golang.org/x/image/tiff reads the same cells. It wants tags in
// order, and values where their offsets say.
func TestWriteAgainstImageLibrary(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {37, 23}, {300, 2}, {2, 300}} {
		r := random(size[0], size[1])
		picture, err := tiff.Decode(bytes.NewReader(written(t, r)))
		if err != nil {
			t.Fatal(err)
		}
		grey, ok := picture.(*image.Gray16)
		if !ok || grey.Bounds() != image.Rect(0, 0, r.Columns, r.Rows) {
			t.Fatalf("%T of %v", picture, picture.Bounds())
		}
		for k, want := range r.Values {
			if got := grey.Gray16At(k%r.Columns, k/r.Columns).Y; got != want {
				t.Fatalf("cell %d: %d, want %d", k, got, want)
			}
		}
	}
}

// GDAL reads the same cells in the same place, in the same system.
func TestWriteAgainstGDAL(t *testing.T) {
	for _, tool := range []string{"gdalinfo", "gdal_translate"} {
		if _, err := exec.LookPath(tool); err != nil {
			const message = "no cross-check against GDAL: it is not installed"
			if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
				t.Fatal(message)
			}
			t.Skip(message)
		}
	}
	run := func(tool string, args ...string) []byte {
		t.Helper()
		cmd := exec.Command(tool, args...)
		cmd.Env = append(os.Environ(), "GDAL_PAM_ENABLED=NO")
		var complaint bytes.Buffer
		cmd.Stderr = &complaint
		out, err := cmd.Output()
		if err != nil || complaint.Len() > 0 { // warnings too
			t.Fatalf("%s: %v: %s", tool, err, &complaint)
		}
		return out
	}
	folder := t.TempDir()
	path := filepath.Join(folder, "a.tif")
	for _, r := range []Raster{random(37, 23), random(1, 1), random(501, 502)} {
		if err := os.WriteFile(path, written(t, r), 0o666); err != nil {
			t.Fatal(err)
		}
		var info struct {
			Size         [2]int
			GeoTransform [6]float64
			Stac         struct {
				EPSG int `json:"proj:epsg"`
			}
			Metadata map[string]map[string]string
			Bands    []struct {
				Type        string
				NoDataValue float64
			}
		}
		if err := json.Unmarshal(run("gdalinfo", "-json", path), &info); err != nil {
			t.Fatal(err)
		}
		if info.Size != [2]int{r.Columns, r.Rows} || len(info.Bands) != 1 || info.Bands[0].Type != "UInt16" || info.Bands[0].NoDataValue != float64(r.NoData) {
			t.Errorf("GDAL finds %+v", info)
		}
		if want := [6]float64{r.West, r.StepEast, 0, r.North, 0, -r.StepSouth}; info.GeoTransform != want {
			t.Errorf("GDAL places the cells by %v, want %v", info.GeoTransform, want)
		}
		if info.Stac.EPSG != 4326 || info.Metadata[""]["AREA_OR_POINT"] != "Area" {
			t.Errorf("GDAL finds EPSG %d, %v", info.Stac.EPSG, info.Metadata)
		}
		raw := filepath.Join(folder, "raw.bin")
		run("gdal_translate", "-q", "-of", "ENVI", path, raw)
		data, err := os.ReadFile(raw)
		if err != nil {
			t.Fatal(err)
		}
		for k, want := range r.Values {
			if got := binary.NativeEndian.Uint16(data[2*k:]); got != want {
				t.Fatalf("cell %d: %d, want %d", k, got, want)
			}
		}
	}
}

func TestWriteRefuses(t *testing.T) {
	if err := Write(io.Discard, Raster{}); err == nil {
		t.Error("a raster without cells was written")
	}
	r := random(3, 4)
	r.Values = r.Values[1:]
	if err := Write(io.Discard, r); err == nil {
		t.Error("a raster that lacks a value was written")
	}
	if err := Write(full{}, random(3, 4)); err == nil {
		t.Error("a full disk went unnoticed")
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("the disk is full") }
