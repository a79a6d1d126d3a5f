// Package terrain reads elevation grids and answers what the ground's height
// is at a place, and where a ray meets it. It opens no files: callers hand it
// something to read bytes from.
//
// Heights are metres above whatever the file counts from: no geoid model is
// applied, and the vertical datum is handed on as text.
package terrain

import (
	"errors"
	"fmt"
	"io"
	"math"
	"path"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/crs"
	"selvage/boundary/finding"
)

// Source describes an elevation file.
type Source struct {
	Name          string
	Format        string       // "GeoTIFF", "SRTM" or "Esri ASCII grid"
	System        string       // the coordinate system's name
	Caveat        finding.Text // how well the system is brought to WGS 84, a sentence or empty
	Datum         string       // of the heights, as in the file; "" when it does not say
	Unit          Unit         // of the heights in the file, 0 when nobody says and metres are assumed
	Columns, Rows int
	Points        bool      // heights are of points, not of cells, as far as the file tells
	Resolution    float64   // metres between neighbouring heights, along the wider step
	Bound         orb.Bound // degrees, WGS 84; longitudes may go beyond 180
}

// Unit is a unit of height, in metres.
type Unit float64

const (
	Metre        Unit = 1
	Foot         Unit = 0.3048
	USSurveyFoot Unit = 1200.0 / 3937
)

// ParseUnit reads "m", "ft" or "us-ft", or what the units are called in full.
func ParseUnit(text string) (Unit, error) {
	switch strings.ToLower(strings.Join(strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" -_", r) }), " ")) {
	case "m", "metre", "metres", "meter", "meters":
		return Metre, nil
	case "ft", "foot", "feet", "international foot", "international feet":
		return Foot, nil
	case "us ft", "ftus", "us survey foot", "us survey feet", "foot us", "survey foot", "survey feet":
		return USSurveyFoot, nil
	}
	return 0, fmt.Errorf("%s is no unit of height; m, ft and us-ft are", quote(text))
}

// String names the unit.
func (u Unit) String() string {
	switch u {
	case 0:
		return "metres, assumed"
	case Metre:
		return "metres"
	case Foot:
		return "international feet"
	case USSurveyFoot:
		return "US survey feet"
	}
	return fmt.Sprintf("%g metres", float64(u))
}

func (u Unit) metres() float64 {
	if u == 0 {
		return 1
	}
	return float64(u)
}

// Options tell what a file does not, or overrule what it does.
type Options struct {
	System     string // overrules the file's coordinate system: anything that crs.Parse takes
	Projection []byte // the text of the .prj file beside the file
	Unit       Unit   // overrules the file's unit of height; 0 leaves it
	Limits     Limits // zero fields stand for DefaultLimits
}

// Limits keep a file from taking more memory or time than it should.
type Limits struct {
	Bytes int64 // of a text file
	Side  int   // columns or rows of a file
	Cells int   // that one window may hold, or a mosaic's joined grid
}

// DefaultLimits hold 64 million heights, which take 256 MB.
var DefaultLimits = Limits{Bytes: 2_000_000_000, Side: 1_000_000, Cells: 64_000_000}

func (l Limits) filled() Limits {
	if l.Bytes == 0 {
		l.Bytes = DefaultLimits.Bytes
	}
	if l.Side == 0 {
		l.Side = DefaultLimits.Side
	}
	if l.Cells == 0 {
		l.Cells = DefaultLimits.Cells
	}
	return l
}

// File is an elevation file of which the description has been read, but no
// heights yet. It reads from where it was opened, which must stay readable.
type File struct {
	Source
	lattice lattice
	limits  Limits
	// read returns the heights of a window in the file's unit, NaN where unknown.
	read func(window) ([]float32, error)
}

// ErrElsewhere says that a file does not reach into the area that was asked for.
var ErrElsewhere = errors.New("holds no heights of this area")

// Open reads what a file of size bytes says about itself. The name tells the
// format, and with SRTM also the place.
func Open(name string, r io.ReaderAt, size int64, o Options) (*File, error) {
	o.Limits = o.Limits.filled()
	var f *File
	var err error
	switch kind := strings.ToLower(path.Ext(strings.ReplaceAll(name, `\`, "/"))); kind {
	case ".hgt":
		f, err = openHGT(name, r, size, o)
	case ".asc", ".grd", ".agr":
		f, err = openASCII(r, size, o)
	case ".tif", ".tiff", ".gtiff":
		f, err = openTIFF(r, size, o)
	default:
		err = errors.New("is no elevation file that is read here; GeoTIFF (.tif), Esri ASCII grid (.asc) and SRTM (.hgt) are")
	}
	if err != nil {
		return nil, fault(name, err)
	}
	f.limits = o.Limits
	f.Name = name
	f.System, f.Caveat = f.lattice.system.Name(), f.lattice.system.Caveat()
	f.Columns, f.Rows = f.lattice.columns, f.lattice.rows
	if o.Unit != 0 {
		f.Unit = o.Unit
	}
	if f.Bound, err = f.lattice.bound(); err != nil {
		return nil, fault(name, err)
	}
	if f.Resolution = f.lattice.resolution(); !(f.Resolution > 0) {
		return nil, fault(name, errors.New("lies nowhere on Earth"))
	}
	return f, nil
}

// Window decodes the heights around b, in degrees on WGS 84, of which the
// longitudes may go beyond 180. The error wraps ErrElsewhere if there are none.
func (f *File) Window(b orb.Bound) (*Grid, error) {
	w, ok := f.lattice.window(b)
	if !ok {
		return nil, fault(f.Name, ErrElsewhere)
	}
	return f.grid(w)
}

func (f *File) grid(w window) (*Grid, error) {
	if w.columns > f.limits.Cells/w.rows {
		return nil, fault(f.Name, fmt.Errorf("has %d × %d heights here, more than the limit of %d (--limit heights)", w.columns, w.rows, f.limits.Cells))
	}
	heights, err := f.read(w)
	if err != nil {
		return nil, fault(f.Name, err)
	}
	unit := float32(f.Unit.metres())
	for i, h := range heights {
		h *= unit
		if !(math.Abs(float64(h)) <= beyondEarth) {
			h = void
		}
		heights[i] = h
	}
	return &Grid{Source: f.Source, lattice: f.lattice.cropped(w), heights: heights}, nil
}

// beyondEarth is a height in metres, up or down, that no ground has.
const beyondEarth = 12_000

var void = float32(math.NaN())

func unknown(h float32) bool { return h != h }

// usualVoids are numbers that stand for "no height" in files that do not say so.
func usualVoid(h float64) bool { return h == -9999 || h == -32768 || h == -32767 }

// placed is an error at a line and column of a text.
type placed struct {
	line, column int
	text         string
}

func (p placed) Error() string { return fmt.Sprintf("%d:%d: %s", p.line, p.column, p.text) }

func fault(name string, err error) error {
	if at, ok := errors.AsType[placed](err); ok {
		return fmt.Errorf("%s:%w", name, at)
	}
	return fmt.Errorf("%s: %w", name, err)
}

// systemOf is the coordinate system that the options, the file itself (said,
// "" if it does not), the .prj beside it or, for want of these, the figures of
// the lattice tell.
func systemOf(o Options, said string, l lattice) (crs.System, error) {
	if o.System != "" {
		return crs.Parse(o.System)
	}
	if said == "" {
		said = strings.TrimSpace(string(o.Projection))
	}
	if said != "" {
		system, err := crs.Parse(said)
		if err != nil {
			err = fmt.Errorf("%w (or name the system of the terrain with --terrain-crs)", err)
		}
		return system, err
	}
	if !l.looksGeographic() {
		return crs.System{}, errors.New("does not say in which coordinate system it is: name it with --terrain-crs, for example --terrain-crs EPSG:32632, or put its .prj file beside it")
	}
	return crs.Parse("EPSG:4326")
}

func quote(text string) string {
	letters := []rune(strings.Join(strings.Fields(strings.ToValidUTF8(text, "\ufffd")), " "))
	if len(letters) > 60 {
		letters = append(letters[:59], '…')
	}
	return "“" + string(letters) + "”"
}
