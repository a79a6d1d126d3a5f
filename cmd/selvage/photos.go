package main

import (
	"context"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/coverage/photo"
	"selvage/report"
)

func photosCommand() command {
	return command{
		name: "photos", summary: "list what photos say of where they were taken",
		arguments: "PHOTOS... [flags]",
		about: `Reads photos as audit does, and says what it read and from where: folders and
times, cameras and sensors, position, altitude, height and attitude. PHOTOS are
folders, walked through with all that is below them, single photos (JPEG, TIFF,
DNG, HEIF, PNG), or a positions table. Only the beginning of each photo is read,
and nothing is written to it. With --out the centres of the photos are written
as CSV (which is a positions table too), GeoJSON or KML. Exit status 1 says that
a finding needs an answer.`,
		example: "selvage photos DCIM\n" +
			"selvage photos E:\\DCIM F:\\DCIM --all --xmp height=RelativeHeight --xmp yaw=CameraYaw\n" +
			"selvage photos DCIM --positions corrected.csv --format csv,geojson,kml --out centres",
		define: defineList,
	}
}

// listFlags are the values of the flags.
type listFlags struct {
	photos  *photoFlags
	all     bool
	formats centreFormats
	out     *outputs
	machine *bool
	units   *unitsValue
}

func defineList(flags *pflag.FlagSet) action {
	lim := usualLimits()
	f := &listFlags{}
	flags.BoolVar(&f.all, "all", false, "show every photo, not only the first and the last")
	f.photos = definePhotos(flags, lim)
	flags.Var(&f.formats, "format", "csv, geojson, kml or several of them, as in csv,kml; csv if not given")
	f.out = outFlags(flags, "`folder` to write the centres to")
	f.machine = jsonFlag(flags)
	f.units = unitsFlag(flags)
	lim.define(flags)
	return f.run
}

// centreFormats is a flag for kinds of files, which may be repeated.
type centreFormats []string

var knownCentres = []string{"csv", "geojson", "kml"}

func (f *centreFormats) Set(s string) (err error) {
	*f, err = addFormats(*f, s, knownCentres)
	return err
}

func (f *centreFormats) Type() string { return "list" }

func (f *centreFormats) String() string { return strings.Join(*f, ",") }

// orUsual returns the formats, or the usual one.
func (f centreFormats) orUsual() []string {
	if len(f) == 0 {
		return knownCentres[:1]
	}
	return f
}

func (f *listFlags) run(t terminal, args []string) (int, error) {
	switch {
	case len(args) == 0:
		return 0, misuse("photos", "photos needs photos: folders, files or a positions table")
	case len(f.formats) > 0 && f.out.folder == "":
		return 0, misuse("photos", "--format says what to write, and --out where to; add --out FOLDER")
	}
	ctx, release := interruptible()
	defer release()
	list, err := promptly(ctx, func() (*report.PhotoList, error) { return f.list(ctx, t, args) })
	if err == nil && ctx.Err() != nil {
		err = stopped{}
	}
	if err != nil {
		return 0, err
	}
	if f.out.folder != "" {
		if err := f.out.commit(); err != nil {
			return 0, err
		}
		list.Files = f.out.files()
	}
	status := statusOf(list.Findings)
	if *f.machine {
		return status, report.WritePhotosJSON(t.out, *list)
	}
	return status, report.WritePhotosText(t.out, *list, f.all, t.style)
}

// list reads, and plans what is to be written.
func (f *listFlags) list(ctx context.Context, t terminal, args []string) (*report.PhotoList, error) {
	name := photosName(args)
	if f.out.folder != "" {
		f.out.inputs = slices.Clone(args)
		if f.photos.positions != "" {
			f.out.inputs = append(f.out.inputs, f.photos.positions)
		}
		for _, format := range f.formats.orUsual() {
			if err := f.out.check(name + "." + format); err != nil {
				return nil, err
			}
		}
	}
	take, err := f.photos.gather(ctx, t, named(args))
	if err != nil {
		return nil, err
	}
	take.tellPositions()
	take.tellCameras()
	if f.out.folder != "" {
		for _, format := range f.formats.orUsual() {
			f.out.add("centres of the photos", name+"."+format, func(w io.Writer) error { return writeCentres(w, format, name, take) })
		}
	}
	list := &report.PhotoList{
		Photos: take.photos, LeftOut: take.leftOut, Repeated: take.repeated, Passed: take.passed,
		Folders: take.folders(), Values: f.values(take.photos), Findings: take.findings, Units: f.units.Units,
	}
	for _, g := range sensors(take.photos) {
		first := take.photos[g.photos[0]]
		list.Sensors = append(list.Sensors, report.PhotoSensor{Name: g.sensor.String(), Photos: len(g.photos), Camera: first.Camera, Source: first.CameraSource})
	}
	return list, nil
}

// photosName is the name of what is written, without extension, by that of the
// first folder or file.
func photosName(args []string) string {
	name := strings.TrimSuffix(stem(label(args[0])), "-photos")
	if !strings.ContainsFunc(name, func(r rune) bool { return r != '/' && r != '\\' && r != '.' && r != ':' }) {
		name = "card" // the root of a file system
	}
	return boundary.OutputName(strings.TrimRight(name, `:\/`)) + "-photos"
}

func writeCentres(w io.Writer, format, title string, t *take) error {
	switch format {
	case "geojson":
		return report.WritePhotosGeoJSON(w, t.photos)
	case "kml":
		return report.WritePhotosKML(w, title, t.photos)
	}
	return report.WritePhotosCSV(w, t.photos, t.leftOut)
}

// folders counts photos by folder, in the order in which they were met.
func (t *take) folders() []report.PhotoFolder {
	var all []report.PhotoFolder
	index := map[string]int{}
	of := func(file string) *report.PhotoFolder {
		name := ""
		if i := strings.LastIndexByte(file, '/'); i >= 0 {
			name = file[:i]
		}
		i, met := index[name]
		if !met {
			i = len(all)
			index[name] = i
			all = append(all, report.PhotoFolder{Name: name})
		}
		return &all[i]
	}
	for i := range t.photos {
		p := &t.photos[i]
		f := of(p.File)
		f.Photos++
		if p.Time.IsZero() {
			continue
		}
		if f.From.IsZero() || p.Time.Before(f.From) {
			f.From = p.Time
		}
		if p.Time.After(f.To) {
			f.To = p.Time
		}
	}
	for _, l := range t.leftOut {
		of(l.File).LeftOut++
	}
	slices.SortStableFunc(all, func(a, b report.PhotoFolder) int { return strings.Compare(a.Name, b.Name) })
	return all
}

// values counts where the photos' values were read.
func (f *listFlags) values(photos []photo.Photo) []report.PhotoValue {
	xmp := func(q photo.Quantity) string { return "XMP property " + f.photos.xmp.names[q] }
	source := func(s photo.Source, q photo.Quantity) string {
		switch s {
		case photo.XMP:
			return xmp(q)
		case photo.Table:
			return "positions table"
		case photo.Corrected:
			return "corrected positions"
		}
		return "Exif"
	}
	number := func(name string, q photo.Quantity, value func(p *photo.Photo) float64) report.PhotoValue {
		return tally(name, photos, func(p *photo.Photo) string {
			if math.IsNaN(value(p)) {
				return ""
			}
			from := source(sourceOf(p, q), q)
			if q == photo.Altitude {
				from += ", " + datumClause(p.AltitudeDatum)
			}
			return from
		})
	}
	return []report.PhotoValue{
		tally("position", photos, func(p *photo.Photo) string { return source(p.Sources.Position, "") }),
		number("altitude", photo.Altitude, func(p *photo.Photo) float64 { return p.Altitude }),
		number("height above ground", photo.Height, func(p *photo.Photo) float64 { return p.Height }),
		number("yaw", photo.Yaw, func(p *photo.Photo) float64 { return p.Yaw }),
		number("pitch", photo.Pitch, func(p *photo.Photo) float64 { return p.Pitch }),
		number("roll", photo.Roll, func(p *photo.Photo) float64 { return p.Roll }),
		number("position error", photo.PositionError, func(p *photo.Photo) float64 { return p.PositionError }),
		tally("time", photos, func(p *photo.Photo) string { return p.TimeSource }),
		tally("sensor size", photos, func(p *photo.Photo) string {
			if p.Camera.SensorWidth > 0 && p.CameraSource == "" {
				return "stated"
			}
			return p.CameraSource
		}),
	}
}

// datumClause says what an altitude counts from.
func datumClause(datum string) string {
	switch datum {
	case photo.SeaLevel:
		return "above sea level"
	case photo.Ellipsoid:
		return "above the ellipsoid"
	}
	return "not said above what"
}

// tally counts the photos by a word, "" for those without.
func tally(name string, photos []photo.Photo, word func(p *photo.Photo) string) report.PhotoValue {
	v := report.PhotoValue{Name: name}
	index := map[string]int{}
	for i := range photos {
		w := word(&photos[i])
		if w == "" {
			continue
		}
		v.Known++
		k, met := index[w]
		if !met {
			k = len(v.From)
			index[w] = k
			v.From = append(v.From, report.PhotoSource{Name: w})
		}
		v.From[k].Photos++
	}
	return v
}
