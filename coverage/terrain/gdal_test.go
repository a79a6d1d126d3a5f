package terrain

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// gdal finds a reference tool. With SELVAGE_REFERENCE_TOOLS=required in the
// environment it must be there.
func gdal(t *testing.T, tool string) string {
	t.Helper()
	path, err := exec.LookPath(tool)
	if err == nil {
		return path
	}
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		t.Fatalf("%s is required and not installed", tool)
	}
	t.Skipf("%s is not installed: the comparison with it is left out", tool)
	return ""
}

func run(t *testing.T, input, tool string, args ...string) string {
	t.Helper()
	cmd := exec.Command(gdal(t, tool), args...)
	cmd.Stdin = strings.NewReader(input)
	cmd.Env = append(os.Environ(), "GDAL_PAM_ENABLED=NO")
	out, err := cmd.Output()
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		t.Fatalf("%s %s: %v: %s", tool, strings.Join(args, " "), err, exit.Stderr)
	}
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// asked is what gdallocationinfo says at places in degrees, NaN off the file.
func asked(t *testing.T, path string, places []orb.Point) []float64 {
	t.Helper()
	var in strings.Builder
	for _, p := range places {
		fmt.Fprintf(&in, "%.12f %.12f\n", p[0], p[1])
	}
	lines := strings.Split(run(t, in.String(), "gdallocationinfo", "-valonly", "-wgs84", path), "\n")
	out := make([]float64, len(places))
	for k := range out {
		x, err := strconv.ParseFloat(strings.TrimSpace(lines[k]), 64)
		if err != nil {
			x = math.NaN()
		}
		out[k] = x
	}
	return out
}

func readFile(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func write(t *testing.T, path string, data []byte) string {
	t.Helper()
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// compareCells asks GDAL for the height at every place where ours stands.
func compareCells(t *testing.T, path string, g *Grid, tolerance float64) {
	t.Helper()
	columns, rows := g.Size()
	var places []orb.Point
	var ours []float64
	for j := range rows {
		for i := range columns {
			h, p, ok := g.At(i, j)
			if !ok {
				continue
			}
			places, ours = append(places, p), append(ours, h)
		}
	}
	if len(places) < columns*rows/2 {
		t.Fatalf("only %d of %d heights are known", len(places), columns*rows)
	}
	for k, want := range asked(t, path, places) {
		if !(math.Abs(ours[k]-want) <= tolerance) {
			t.Fatalf("at %v: %v, gdallocationinfo has %v", places[k], ours[k], want)
		}
	}
}

// TestGDALEveryFormat reads what GDAL wrote in each type, compression,
// predictor and layout, and compares every cell with what GDAL reads.
func TestGDALEveryFormat(t *testing.T) {
	gdal(t, "gdal_translate")
	folder := t.TempDir()
	b := hills(41, 33)
	for k := range b.heights {
		b.heights[k] += 50
	}
	b.heights[40] = -9999
	source := write(t, filepath.Join(folder, "source.asc"),
		encodeASCII(b, "xllcorner 691000\nyllcorner 5334000\ncellsize 7\nNODATA_value -9999\n"))
	n := 0
	for _, kind := range []string{"Int16", "UInt16", "Int32", "UInt32", "Float32", "Float64"} {
		for _, compression := range []string{"NONE", "DEFLATE", "LZW"} {
			for predictor := 1; predictor <= 3; predictor++ {
				if predictor == 3 && !strings.HasPrefix(kind, "Float") || predictor > 1 && compression == "NONE" {
					continue
				}
				n++
				args := []string{"-q", "-a_srs", "EPSG:32632", "-ot", kind, "-co", "COMPRESS=" + compression, "-co", fmt.Sprint("PREDICTOR=", predictor)}
				if strings.HasPrefix(kind, "U") {
					args = append(args, "-a_nodata", "0")
				}
				if n%2 == 0 {
					args = append(args, "-co", "TILED=YES", "-co", "BLOCKXSIZE=16", "-co", "BLOCKYSIZE=32")
				}
				if n%3 == 0 {
					args = append(args, "-co", "BIGTIFF=YES")
				}
				if n%5 == 0 && predictor < 3 { // libtiff 4.5 mixes up the bytes it writes with predictor 3 then, and cannot read them itself
					args = append(args, "-co", "ENDIANNESS=BIG")
				}
				if n%7 == 0 {
					args = append(args, "-mo", "AREA_OR_POINT=Point")
				}
				name := strings.Join(args[4:], " ")
				path := filepath.Join(folder, fmt.Sprint(n, ".tif"))
				t.Run(name, func(t *testing.T) {
					t.Parallel()
					run(t, "", "gdal_translate", append(args, source, path)...)
					compareCells(t, path, mustGrid(t, path, readFile(t, path), Options{}), 1e-4)
				})
			}
		}
	}
}

// Each coordinate system places its cells as GDAL and PROJ do.
func TestGDALSystems(t *testing.T) {
	gdal(t, "gdal_translate")
	folder := t.TempDir()
	for _, system := range []struct {
		code             int
		left, top, cell  float64
		lonLow, lonHigh  float64
		latLow, latHigh  float64
		feet, geographic bool
	}{
		{code: 4326, left: 11.5, top: 48.2, cell: 0.0001, lonLow: 11.5, lonHigh: 11.51, latLow: 48.19, latHigh: 48.2},
		{code: 32632, left: 691000, top: 5335000, cell: 5, lonLow: 11.5, lonHigh: 11.6, latLow: 48.1, latHigh: 48.2},
		{code: 32756, left: 334000, top: 6252000, cell: 5, lonLow: 151, lonHigh: 151.5, latLow: -34, latHigh: -33.5},
		{code: 25833, left: 390000, top: 5820000, cell: 1, lonLow: 13, lonHigh: 13.6, latLow: 52, latHigh: 53},
		{code: 3857, left: 1280000, top: 6130000, cell: 5, lonLow: 11, lonHigh: 12, latLow: 48, latHigh: 49},
		{code: 2277, left: 3100000, top: 10070000, cell: 10, lonLow: -98, lonHigh: -97, latLow: 30, latHigh: 31},
		{code: 4269, left: -97.75, top: 30.3, cell: 0.0001, lonLow: -98, lonHigh: -97, latLow: 30, latHigh: 31},
	} {
		t.Run(fmt.Sprint(system.code), func(t *testing.T) {
			b := hills(40, 30)
			header := fmt.Sprintf("xllcorner %.12g\nyllcorner %.12g\ncellsize %.12g\n", system.left, system.top-30*system.cell, system.cell)
			source := write(t, filepath.Join(folder, "source.asc"), encodeASCII(b, header))
			path := filepath.Join(folder, fmt.Sprint(system.code, ".tif"))
			run(t, "", "gdal_translate", "-q", "-a_srs", fmt.Sprint("EPSG:", system.code), "-ot", "Float32", source, path)
			g := mustGrid(t, path, readFile(t, path), Options{})
			compareCells(t, path, g, 1e-4)
			bound := g.Source.Bound
			if bound.Min[0] < system.lonLow-1e-9 || bound.Max[0] > system.lonHigh || bound.Min[1] < system.latLow || bound.Max[1] > system.latHigh {
				t.Errorf("bound %v", bound)
			}
		})
	}
}

// The text grids and SRTM tiles as GDAL reads them.
func TestGDALOtherFormats(t *testing.T) {
	gdal(t, "gdallocationinfo")
	folder := t.TempDir()
	b := hills(40, 30)
	for name, header := range map[string]string{
		"corner": "xllcorner 11.5\nyllcorner 48.1\ncellsize 0.001\n",
		"center": "XLLCENTER 11.5\nYLLCENTER 48.1\nCELLSIZE 0.001\nNODATA_value 100\n",
		"dx":     "xllcorner 11.5\nyllcorner 48.1\ndx 0.001\ndy 0.0015\n",
	} {
		t.Run(name, func(t *testing.T) {
			path := write(t, filepath.Join(folder, name+".asc"), encodeASCII(b, header))
			write(t, filepath.Join(folder, name+".prj"), []byte(`GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]`))
			compareCells(t, path, mustGrid(t, path, readFile(t, path), Options{}), 1e-4)
		})
	}
	t.Run("hgt", func(t *testing.T) {
		path := write(t, filepath.Join(folder, "S23W044.hgt"), tile(1201))
		f := mustOpen(t, path, readFile(t, path), Options{})
		g, err := f.Window(orb.Bound{Min: orb.Point{-43.46, -22.54}, Max: orb.Point{-43.44, -22.52}})
		if err != nil {
			t.Fatal(err)
		}
		compareCells(t, path, g, 0)
	})
}

// TestGDALBilinear compares interpolated heights with those of gdalwarp,
// which has them at the cells of another grid in the same system.
func TestGDALBilinear(t *testing.T) {
	gdal(t, "gdalwarp")
	folder := t.TempDir()
	b := hills(40, 30)
	source := write(t, filepath.Join(folder, "source.asc"), encodeASCII(b, "xllcorner 691000\nyllcorner 5334000\ncellsize 10\n"))
	path, warped := filepath.Join(folder, "a.tif"), filepath.Join(folder, "b.tif")
	run(t, "", "gdal_translate", "-q", "-a_srs", "EPSG:32632", "-ot", "Float64", source, path)
	run(t, "", "gdalwarp", "-q", "-r", "bilinear", "-et", "0", "-tr", "3.7", "3.1", "-te", "691020", "5334020", "691353.0", "5334206.0", "-ot", "Float64", path, warped)
	g := mustGrid(t, path, readFile(t, path), Options{})
	want := mustGrid(t, warped, readFile(t, warped), Options{})
	columns, rows := want.Size()
	worst := 0.0
	for j := range rows {
		for i := range columns {
			h, p, ok := want.At(i, j)
			got, ok2 := g.Elevation(p)
			if !ok || !ok2 {
				t.Fatalf("column %d, row %d: %v, %v", i, j, ok, ok2)
			}
			worst = max(worst, math.Abs(got-h))
		}
	}
	t.Logf("%d × %d heights, at most %.3g m apart", columns, rows, worst)
	if worst > 1e-4 {
		t.Errorf("at most %v m apart", worst)
	}
}

// TestGDALSurface compares a surface with gdalwarp's in the azimuthal
// equidistant projection that the frame is.
func TestGDALSurface(t *testing.T) {
	gdal(t, "gdalwarp")
	folder := t.TempDir()
	b := hills(120, 100)
	source := write(t, filepath.Join(folder, "source.asc"), encodeASCII(b, "xllcorner 691000\nyllcorner 5334000\ncellsize 10\n"))
	path, warped := filepath.Join(folder, "a.tif"), filepath.Join(folder, "b.tif")
	run(t, "", "gdal_translate", "-q", "-a_srs", "EPSG:32632", "-ot", "Float64", source, path)
	g := mustGrid(t, path, readFile(t, path), Options{})
	centre := g.Source.Bound.Center()
	frame := plane.NewFrame(centre)
	// Cells of 5 m of which the middles are the nodes of the surface.
	run(t, "", "gdalwarp", "-q", "-r", "bilinear", "-et", "0", "-tr", "5", "5", "-te", "-402.5", "-402.5", "402.5", "402.5", "-ot", "Float64",
		"-t_srs", fmt.Sprintf("+proj=aeqd +lat_0=%.12f +lon_0=%.12f +datum=WGS84 +units=m", centre[1], centre[0]), path, warped)
	raw := readFile(t, warped)
	tiff, directories, err := openDirectories(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		t.Fatal(err)
	}
	img, err := tiff.image(directories[0], DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	s, err := NewSurface(frame, NewMosaic(g), orb.Bound{Min: orb.Point{-400, -400}, Max: orb.Point{400, 400}}, 5)
	if err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	err = img.read(window{0, 0, 161, 161}, func(at int, x float64) {
		p := orb.Point{float64(at%161)*5 - 400, 400 - float64(at/161)*5}
		h, ok := s.Height(p)
		if !ok {
			t.Fatalf("no height at %v", p)
		}
		worst = max(worst, math.Abs(h-x))
	})
	t.Logf("at most %.3g m apart", worst)
	if err != nil || worst > 0.003 {
		t.Errorf("at most %v m apart, %v", worst, err)
	}
}

// A mask of valid cells that is kept beside the heights.
func TestGDALMask(t *testing.T) {
	gdal(t, "gdal_translate")
	folder := t.TempDir()
	b := hills(45, 37)
	rng := rand.New(rand.NewPCG(1, 2))
	for k := range b.heights {
		if rng.IntN(4) == 0 {
			b.heights[k] = -9999
		}
	}
	source := write(t, filepath.Join(folder, "source.asc"), encodeASCII(b, "xllcorner 11\nyllcorner 48\ncellsize 0.001\nNODATA_value -9999\n"))
	path := filepath.Join(folder, "a.tif")
	run(t, "", "gdal_translate", "-q", "--config", "GDAL_TIFF_INTERNAL_MASK", "YES", "-mask", "mask,1", "-a_nodata", "none", "-a_srs", "EPSG:4326",
		"-ot", "Int16", "-scale", "-9999", "1000", "-9998", "1001", source, path)
	for k, h := range b.heights {
		b.heights[k]++
		if h == -9999 {
			b.heights[k] = math.NaN()
		}
	}
	checkHeights(t, mustGrid(t, path, readFile(t, path), Options{}), b)
}
