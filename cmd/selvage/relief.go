package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"github.com/spf13/pflag"

	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/coverage/photo"
	"selvage/coverage/terrain"
	"selvage/report"
)

// terrainFlags name elevation files and say what they do not.
type terrainFlags struct {
	paths  []string
	system string
	unit   heightUnit
	limits *limits
}

func defineTerrain(flags *pflag.FlagSet, lim *limits) *terrainFlags {
	f := &terrainFlags{limits: lim}
	flags.StringArrayVar(&f.paths, "terrain", nil, "elevation `file`, or folder of such files, to draw footprints on (GeoTIFF .tif, Esri ASCII grid .asc, SRTM .hgt); may be repeated")
	flags.StringVar(&f.system, "terrain-crs", "", "coordinate `system` of the terrain, where its files do not say or say it wrongly, as in EPSG:32632")
	flags.Var(&f.unit, "terrain-unit", "unit of the terrain's heights, where its files do not say or say it wrongly")
	return f
}

// heightUnit is a flag for a unit of height.
type heightUnit struct {
	terrain.Unit
	text string
}

func (u *heightUnit) Set(s string) error {
	unit, err := terrain.ParseUnit(s)
	if err == nil {
		u.Unit, u.text = unit, s
	}
	return err
}

func (u *heightUnit) Type() string { return "m|ft|us-ft" }

func (u *heightUnit) String() string { return u.text }

func (f *terrainFlags) given() bool { return len(f.paths) > 0 }

func (f *terrainFlags) check(command string) error {
	if !f.given() && (f.system != "" || f.unit.text != "") {
		return misuse(command, "--terrain-crs and --terrain-unit say how to read terrain; add --terrain FILE")
	}
	return nil
}

// parameters puts what was given into words.
func (f *terrainFlags) parameters() []report.Setting {
	var all []report.Setting
	if f.system != "" {
		all = append(all, report.Setting{Name: finding.Say("Coordinate system of the terrain, as given"), Value: finding.Plain(f.system)})
	}
	if f.unit.text != "" {
		all = append(all, report.Setting{Name: finding.Say("Unit of the terrain’s heights, as given"), Value: finding.Plain(f.unit.Unit.String())})
	}
	return all
}

// elevation is an elevation file by what it says of itself.
type elevation struct {
	terrain.Source
	path    string
	options terrain.Options
}

// read joins the heights that the audit of a job needs: of the site at first,
// and by what these show, of what the photos can see around it. It returns nil
// where no terrain was given.
func (f *terrainFlags) read(ctx context.Context, job coverage.Job) (*terrain.Mosaic, []report.Input, error) {
	if !f.given() {
		return nil, nil, nil
	}
	files, err := f.list(ctx)
	if err != nil {
		return nil, nil, err
	}
	needed, err := coverage.TerrainExtent(job)
	if err != nil {
		return nil, nil, err
	}
	var used []elevation
	const rounds = 3 // the ground that a round adds can lie lower, so that photos see further
	for range rounds {
		extent := padded(needed)
		if job.Terrain, used, err = mosaicOf(ctx, files, extent); err != nil {
			return nil, nil, err
		}
		if needed, err = coverage.TerrainExtent(job); err != nil {
			return nil, nil, err
		}
		if extent.Contains(needed.Min) && extent.Contains(needed.Max) {
			break
		}
	}
	var inputs []report.Input
	for _, u := range used {
		hash, err := sumOf(ctx, u.path)
		if err != nil {
			return nil, nil, err
		}
		inputs = append(inputs, report.Input{Role: "terrain", Name: u.Name, SHA256: hash})
	}
	return job.Terrain, inputs, nil
}

// padded grows a bound by a share of its size, and a little.
func padded(b orb.Bound) orb.Bound {
	const share, little = 0.1, 0.0002 // degrees
	return b.Pad(little + share*max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]))
}

// mosaicOf decodes the heights around a bound, in degrees, and tells of which
// files they are.
func mosaicOf(ctx context.Context, files []elevation, around orb.Bound) (*terrain.Mosaic, []elevation, error) {
	var grids []*terrain.Grid
	var used []elevation
	for _, e := range files {
		if ctx.Err() != nil {
			return nil, nil, stopped{}
		}
		turns := 360 * math.Round((around.Center()[0]-e.Bound.Center()[0])/360)
		if !(orb.Bound{Min: orb.Point{e.Bound.Min[0] + turns, e.Bound.Min[1]}, Max: orb.Point{e.Bound.Max[0] + turns, e.Bound.Max[1]}}).Intersects(around) {
			continue
		}
		err := e.open(func(f *terrain.File) error {
			grid, err := f.Window(around)
			if err == nil {
				grids, used = append(grids, grid), append(used, e)
			}
			return err
		})
		if err != nil && !errors.Is(err, terrain.ErrElsewhere) {
			return nil, nil, err
		}
	}
	if len(grids) == 0 {
		first := files[0]
		return nil, nil, fmt.Errorf("the terrain holds no heights of the site area, which lies around latitude, longitude %s; %s, the first of %s, reaches from %s to %s",
			latLon(around.Center()), first.Name, report.Count(len(files), "file", "files"), latLon(first.Bound.Min), latLon(first.Bound.Max))
	}
	return terrain.NewMosaic(grids...), used, nil
}

func latLon(p orb.Point) string { return fmt.Sprintf("%.3f, %.3f", p[1], math.Remainder(p[0], 360)) }

// list looks at all files that are named, and those of the folders.
func (f *terrainFlags) list(ctx context.Context) ([]elevation, error) {
	var files []elevation
	for _, given := range f.paths {
		paths, err := terrainPaths(given)
		if err != nil {
			return nil, err
		}
		for _, path := range paths {
			if ctx.Err() != nil {
				return nil, stopped{}
			}
			e := elevation{path: path, options: terrain.Options{System: f.system, Unit: f.unit.Unit, Limits: f.limits.terrain, Projection: projectionBeside(path)}}
			if err := e.open(func(f *terrain.File) error { e.Source = f.Source; return nil }); err != nil {
				return nil, err
			}
			files = append(files, e)
		}
	}
	return files, nil
}

// open opens the file for as long as use takes: there can be more of them than
// may be open at once.
func (e *elevation) open(use func(*terrain.File) error) error {
	file, err := os.Open(e.path)
	if err != nil {
		return err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("%s is no file that can be read as terrain", e.path)
	}
	f, err := terrain.Open(filepath.Base(e.path), file, info.Size(), e.options)
	if err != nil {
		return err
	}
	return use(f)
}

// projectionBeside is the text of the .prj file beside an elevation file, if any.
func projectionBeside(path string) []byte {
	const most = 64 << 10
	for _, extension := range []string{".prj", ".PRJ"} {
		if text, err := readAtMost(strings.TrimSuffix(path, filepath.Ext(path))+extension, most); err == nil && len(text) <= most {
			return text
		}
	}
	return nil
}

// terrainPaths lists the elevation files of a folder, or is the file itself.
func terrainPaths(given string) ([]string, error) {
	info, err := os.Stat(given)
	if err != nil {
		return nil, err
	}
	if !info.IsDir() {
		return []string{given}, nil
	}
	entries, err := os.ReadDir(given)
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, e := range entries {
		if slices.Contains([]string{".hgt", ".asc", ".tif", ".tiff"}, strings.ToLower(filepath.Ext(e.Name()))) && !strings.HasPrefix(e.Name(), ".") {
			paths = append(paths, filepath.Join(given, e.Name()))
		}
	}
	if len(paths) == 0 {
		return nil, fmt.Errorf("--terrain %s: the folder holds no elevation files (.tif, .asc, .hgt)", given)
	}
	return paths, nil
}

// sumOf is the SHA-256 of a whole file, which may be large.
func sumOf(ctx context.Context, path string) (string, error) {
	file, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer file.Close()
	hash := sha256.New()
	for {
		const piece = 16 << 20
		n, err := io.CopyN(hash, file, piece)
		switch {
		case ctx.Err() != nil:
			return "", stopped{}
		case err != nil && err != io.EOF:
			return "", err
		case n < piece:
			return hex.EncodeToString(hash.Sum(nil)), nil
		}
	}
}

// heightsKnown tells whether what is given and what the photos say makes up
// some height above ground.
func (f *auditFlags) heightsKnown(photos []photo.Photo) bool {
	return f.height.given || slices.ContainsFunc(photos, func(p photo.Photo) bool {
		return !math.IsNaN(p.Height) || (f.ground.given || f.terrain.given()) && !math.IsNaN(p.Altitude)
	})
}
