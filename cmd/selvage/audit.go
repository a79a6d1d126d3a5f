package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/pflag"

	"selvage/coverage"
	"selvage/coverage/photo"
	"selvage/report"
)

func auditCommand() command {
	return command{
		name: "audit", summary: "show what the photos saw of the site area, its edge included",
		arguments: "(--job FILE | --area FILE) PHOTOS... [flags]",
		about: `Measures what the photos saw of the site area: how many views every piece of
ground and of the edge has, overlaps, ground sample distance, and what has to
be flown again. PHOTOS are folders of JPEG photos, walked through with all that
is below them, single photos, or a positions table (CSV with named columns; at
least lon and lat). The ground is taken as level: give its altitude or the
height flown above it. Writes NAME-coverage.html (the coverage note), .json and
.geojson, and NAME-refly.kml if something is to be flown again. Exit status 1
says that coverage falls short or that a finding needs an answer.`,
		example: "selvage audit --job job/client.job.geojson DCIM --ground 132m --overlap 75/70\n" +
			"selvage audit --area client.kml positions.csv --height 80m --camera 13.2x8.8mm,8.8mm,5472x3648 --out note",
		define: defineAudit,
	}
}

// auditFlags are the values of the flags.
type auditFlags struct {
	area        *areaFlags
	ground      length
	height      length
	camera      camera
	overlap     overlaps
	gsd         pixel
	minViews    int
	minZone     area
	reflyBuffer length
	out         *outputs
	machine     *bool
	units       *unitsValue
}

func defineAudit(flags *pflag.FlagSet) action {
	f := &auditFlags{ground: anyLength(), minZone: area{1}, reflyBuffer: zeroOrMore(20)}
	f.area = defineArea(flags)
	flags.Var(&f.ground, "ground", "altitude of the ground, in the photos' own measure, as in 132m")
	flags.Var(&f.height, "height", "height flown above ground, as in 80m or 260ft")
	flags.Var(&f.camera, "camera", "camera, where the photos do not say, as in 13.2x8.8mm,8.8mm,5472x3648")
	flags.Var(&f.overlap, "overlap", "wanted overlaps in per cent, as in 75/70")
	flags.Var(&f.gsd, "gsd", "wanted ground sample distance, as in 2.5cm")
	flags.IntVar(&f.minViews, "min-views", 5, "`number` of photos that must see every piece of ground; 5 is common practice")
	flags.Var(&f.minZone, "min-zone", "smaller zones are counted, but not listed")
	flags.Var(&f.reflyBuffer, "refly-buffer", "how far areas to fly again reach past their zones")
	f.out = outFlags(flags, "`folder` to write to; without it, that of the job record")
	f.machine = jsonFlag(flags)
	f.units = unitsFlag(flags)
	return f.run
}

func (f *auditFlags) run(t terminal, args []string) (int, error) {
	if err := f.area.check("audit"); err != nil {
		return 0, err
	}
	switch {
	case len(args) == 0:
		return 0, misuse("audit", "audit needs photos: folders, files or a positions table")
	case f.minViews < 1 || f.minViews > 1000:
		return 0, fmt.Errorf("--min-views %d: give a number from 1 to 1000", f.minViews)
	}
	note, err := f.audit(t, args)
	if err != nil {
		return 0, err
	}
	status := statusOf(note.Audit.Findings)
	if f.area.file != "" {
		status = max(status, statusOf(note.Findings))
	}
	if !note.Captured() {
		status = needsAnswer
	}
	if *f.machine {
		return status, report.WriteJSON(t.out, *note)
	}
	if err := report.WriteText(t.out, *note, t.style); err != nil {
		return 0, err
	}
	if len(note.Audit.Refly) == 0 && note.Captured() {
		fmt.Fprintln(t.out, "\nNothing has to be flown again.")
	}
	return status, nil
}

// audit reads everything, measures, and writes the note.
func (f *auditFlags) audit(t terminal, args []string) (*report.Note, error) {
	area := f.area.path()
	if f.out.folder == "" {
		f.out.folder = filepath.Dir(area)
	}
	name := strings.TrimSuffix(stem(area), ".job")
	noteName, reflyName := name+"-coverage", name+"-refly.kml"
	f.out.inputs = append([]string{area}, args...)
	for _, n := range []string{noteName + ".html", noteName + ".json", noteName + ".geojson", reflyName} {
		if err := f.out.check(n); err != nil {
			return nil, err
		}
	}
	g, err := f.area.read(f.units.Units)
	if err != nil {
		return nil, err
	}
	found, err := find(args)
	if err != nil {
		return nil, err
	}
	if len(found.photos)+len(found.tables) == 0 {
		return nil, fmt.Errorf("no JPEG photos in %s%s", strings.Join(args, ", "), passed(found))
	}
	progress, done := t.progress(len(found.photos))
	take, err := found.read(progress)
	done()
	if err != nil {
		return nil, err
	}
	job := coverage.Job{
		Site: g.site, Flight: g.flight, Photos: take.photos, LeftOut: take.leftOut,
		Height: f.height.orNaN(), Ground: f.ground.orNaN(), Camera: f.camera.Camera,
		Wanted: coverage.Wanted{
			Views: f.minViews, Forward: f.overlap.forward, Side: f.overlap.side, GSD: f.gsd.metres,
		},
		MinZone: f.minZone.squareMetres, ReflyBuffer: f.reflyBuffer.metres,
	}
	if err := f.askForMissing(take.photos); err != nil {
		return nil, err
	}
	audit, err := coverage.Run(job)
	if err != nil {
		return nil, err
	}
	note := &report.Note{
		Title: g.name, Site: areaNames(g.areas, g.name),
		Tool: "Selvage", Version: version, Made: time.Now(),
		Inputs: append(g.inputs, take.inputs...), Parameters: append(g.parameters, f.parameters(found)...),
		Units: f.units.Units, Audit: audit,
		SiteArea: g.site, FlightArea: g.flight, KeepOut: g.keepOut, Findings: g.findings,
	}
	f.out.add("coverage note", noteName+".html", func(w io.Writer) error { return report.WriteHTML(w, *note) })
	f.out.add("figures", noteName+".json", func(w io.Writer) error { return report.WriteJSON(w, *note) })
	f.out.add("shapes", noteName+".geojson", func(w io.Writer) error { return report.WriteGeoJSON(w, *note) })
	if len(audit.Refly) > 0 {
		f.out.add("areas to fly again", reflyName, func(w io.Writer) error { return report.WriteReflyKML(w, *note) })
	}
	note.Files = f.out.names()
	if err := f.out.commit(); err != nil {
		return nil, err
	}
	note.Files = f.out.files()
	if old := filepath.Join(f.out.folder, reflyName); len(audit.Refly) == 0 && exists(old) {
		fmt.Fprintf(t.err, "selvage: %s is from an earlier audit; nothing has to be flown again\n", oneLine(old))
	}
	return note, nil
}

// askForMissing names the flag that says what no photo says.
func (f *auditFlags) askForMissing(photos []photo.Photo) error {
	if len(photos) == 0 {
		return nil // coverage.Run says so
	}
	high := f.height.given || slices.ContainsFunc(photos, func(p photo.Photo) bool {
		return !math.IsNaN(p.Height) || f.ground.given && !math.IsNaN(p.Altitude)
	})
	seen := slices.ContainsFunc(photos, func(p photo.Photo) bool { return p.Camera.Merge(f.camera.Camera).Complete() })
	switch {
	case !high && f.ground.given:
		return errors.New("the photos give no altitude to take the ground's from; add the height flown above ground, as in --height 80m")
	case !high:
		return errors.New("the height above ground is not known; add the altitude of the ground, as in --ground 132m, or the height flown above it, as in --height 80m")
	case !seen:
		return errors.New("the photos do not say enough of their camera; add its sensor size, focal length and image size, as in --camera 13.2x8.8mm,8.8mm,5472x3648")
	}
	return nil
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

func passed(found *search) string {
	if over := found.passedOver(); over != "" {
		return " (passed over: " + over + ")"
	}
	return ""
}

// parameters puts the settings into words.
func (f *auditFlags) parameters(found *search) []report.Parameter {
	u := f.units.Units
	parameters := []report.Parameter{{Name: "Wanted views", Value: report.Number(f.minViews)}}
	add := func(name, value string, given bool) {
		if given {
			parameters = append(parameters, report.Parameter{Name: name, Value: value})
		}
	}
	add("Wanted overlap, forward / side", report.Overlap(f.overlap.forward)+" / "+report.Overlap(f.overlap.side), f.overlap.forward > 0)
	add("Wanted ground sample distance", u.GSD(f.gsd.metres), f.gsd.given)
	add("Altitude of the ground", signed(u, f.ground.metres), f.ground.given)
	add("Height above ground", u.Length(f.height.metres), f.height.given)
	add("Camera", f.camera.text, f.camera.text != "")
	add("Smallest zone listed", u.Area(f.minZone.squareMetres), true)
	add("Buffer of areas to fly again", u.Length(f.reflyBuffer.metres), true)
	over := found.passedOver()
	add("Not looked into", over, over != "")
	add("Hash of the photos", headHash, len(found.photos) > 0)
	return parameters
}

// signed formats a length that may be below zero.
func signed(u report.Units, metres float64) string {
	if metres < 0 {
		return "−" + u.Length(math.Abs(metres))
	}
	return u.Length(metres)
}

// longWork is a number of photos that takes longer to read than one waits for
// without asking.
const longWork = 500

// progress returns what to call after each photo, and at the end.
func (t terminal) progress(photos int) (step, done func()) {
	if !t.interactive || photos < longWork {
		return func() {}, func() {}
	}
	bar := progressbar.NewOptions(photos,
		progressbar.OptionSetWriter(t.err),
		progressbar.OptionSetDescription("Reading photos"),
		progressbar.OptionShowCount(),
		progressbar.OptionSetWidth(30),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionClearOnFinish(),
	)
	return func() { bar.Add(1) }, func() { bar.Finish() }
}
