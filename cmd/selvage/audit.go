package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/boundary/finding"
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
be flown again. PHOTOS are folders, walked through with all that is below them,
single photos (JPEG, TIFF, DNG, HEIF, PNG), or a positions table (CSV with named
columns; at least lon and lat); several cards and flights may be named at once.
The ground is taken as level: give its altitude or the height flown above it;
or give --terrain, and footprints are drawn on that.
Writes NAME-coverage.html and .pdf (the coverage note), .json (figures), .geojson
and .kml (zones, edge and areas), NAME-coverage-views.kmz (the views as a picture
for map viewers) and .tif (GeoTIFF, for GIS); and NAME-refly.kml if something is
to be flown again. Where photos come from several sensors or lenses, each with 10
or more, every sensor has its own note and the worst sets the exit status. Exit
status 1 says that coverage falls short or that a finding needs an answer.`,
		example: "selvage audit --job job/client.job.geojson DCIM --ground 132m --overlap 75/70\n" +
			"selvage audit --area client.kml positions.csv --height 80m --camera 13.2x8.8mm,8.8mm,5472x3648 --out note\n" +
			"selvage audit --area client.kml E:\\DCIM F:\\DCIM --positions corrected.csv --ground 132m --geoid-offset 46.2m --xmp yaw=CameraYaw --out note",
		define: defineAudit,
	}
}

// auditFlags are the values of the flags.
type auditFlags struct {
	area     *areaFlags
	photos   *photoFlags
	doubt    *doubtFlags
	points   *pointFlags
	ground   length
	terrain  *terrainFlags
	height   length
	camera   camera
	view     fieldOfView
	planned  *plannedFootprint
	sensor   sensorChoice
	overlap  overlaps
	gsd      pixel
	minViews int
	minZone  area
	refly    *reflyFlags
	maxBlur  measured
	trigger  measured
	csv      bool
	head     *letterheadFlags
	out      *outputs
	machine  *bool
	units    *unitsValue

	flags *pflag.FlagSet
}

func defineAudit(flags *pflag.FlagSet) action { return newAudit(flags).run }

func newAudit(flags *pflag.FlagSet) *auditFlags {
	lim := usualLimits()
	f := &auditFlags{flags: flags, ground: anyLength(), minZone: area{1},
		maxBlur: measured{kind: blurs, value: 0.7, given: true}, trigger: measured{kind: times}}
	f.area = defineArea(flags, lim)
	flags.Var(&f.ground, "ground", "altitude of the ground, in the photos' own measure, as in 132m")
	f.terrain = defineTerrain(flags, lim)
	flags.Var(&f.height, "height", "height flown above ground, as in 80m or 260ft")
	flags.Var(&f.camera, "camera", "camera, where the photos do not say, as in 13.2x8.8mm,8.8mm,5472x3648")
	flags.Var(&f.view, "fov", "angles across the image's width and height, in place of the sensor size, as in 64x48deg")
	f.planned = defineFootprint(flags)
	flags.Var(&f.sensor, "sensor", "which of several sensors or lenses counts, by its number; all counts them together; without it, each has its own note")
	flags.Var(&f.overlap, "overlap", "wanted overlaps in per cent, as in 75/70")
	flags.Var(&f.gsd, "gsd", "wanted ground sample distance, as in 2.5cm")
	flags.IntVar(&f.minViews, "min-views", 5, "`number` of photos that must see every piece of ground; 5 is common practice")
	flags.Var(&f.minZone, "min-zone", "smaller zones are counted, but not listed")
	f.refly = defineRefly(flags)
	flags.Var(&f.maxBlur, "max-blur", "how far the image may move during the exposure; 0.7px is common practice")
	flags.Var(&f.trigger, "trigger", "least time between two photos that the camera keeps, as in 2s; without it, the least that each flight shows")
	f.photos = definePhotos(flags, lim)
	f.doubt = defineDoubt(flags)
	f.points = definePoints(flags, lim)
	f.head = defineLetterhead(flags)
	flags.BoolVar(&f.csv, "csv", false, "also write the lists of the note as tables for a spreadsheet, NAME-zones.csv and so on")
	f.out = outFlags(flags, "`folder` to write to; without it, that of the job record")
	f.machine = jsonFlag(flags)
	f.units = unitsFlag(flags)
	lim.define(flags)
	return f
}

func (f *auditFlags) run(t terminal, args []string) (int, error) {
	r, err := f.measure(t, named(args))
	if err != nil {
		return 0, err
	}
	if err := r.commit(t); err != nil {
		return 0, err
	}
	if *f.machine {
		return r.status(), r.writeJSON(t.out)
	}
	return r.status(), r.write(t)
}

// check finds what does not go together.
func (f *auditFlags) check(args []source) error {
	if err := f.area.check("audit"); err != nil {
		return err
	}
	if err := f.refly.check(); err != nil {
		return err
	}
	if err := f.terrain.check("audit"); err != nil {
		return err
	}
	if err := f.points.check(); err != nil {
		return err
	}
	switch {
	case len(args) == 0:
		return misuse("audit", "audit needs photos: folders, files or a positions table")
	case f.minViews < 1 || f.minViews > 1000:
		return fmt.Errorf("--min-views %d: give a number from 1 to 1000", f.minViews)
	case f.camera.text != "" && f.view.text != "":
		return misuse("audit", "give --camera or --fov, not both")
	}
	return f.planned.check(f.height, f.gsd)
}

// measure does the audit until the user breaks it off. It writes nothing.
func (f *auditFlags) measure(t terminal, args []source) (*audited, error) {
	if err := f.check(args); err != nil {
		return nil, err
	}
	ctx, release := interruptible()
	defer release()
	r, err := promptly(ctx, func() (*audited, error) { return f.audit(ctx, t, args) })
	if err == nil && ctx.Err() != nil {
		err = stopped{}
	}
	return r, err
}

// audit reads everything and measures.
func (f *auditFlags) audit(ctx context.Context, t terminal, args []source) (*audited, error) {
	g, err := f.area.read()
	if err != nil {
		return nil, err
	}
	head, err := f.head.read()
	if err != nil {
		return nil, err
	}
	marks, err := f.points.read()
	if err != nil {
		return nil, err
	}
	take, err := f.photos.gather(ctx, t, args)
	if err != nil {
		return nil, err
	}
	take.tellPositions()
	if f.camera.text == "" && f.view.text == "" {
		take.tellCameras()
	}
	f.planned.fit(take.photos, f.height.metres, f.gsd.metres)
	if (f.ground.given || f.terrain.given()) && !f.photos.geoid.given {
		take.tellDatum()
	}
	f.view.fit(take.photos)
	parts, err := f.share(take)
	if err != nil {
		return nil, err
	}
	area := f.area.path()
	if f.out.folder == "" {
		f.out.folder = filepath.Dir(area)
	}
	f.out.inputs = slices.Concat([]string{area}, paths(args), f.points.files, f.head.paths())
	if f.photos.positions != "" {
		f.out.inputs = append(f.out.inputs, f.photos.positions)
	}
	made, err := now()
	if err != nil {
		return nil, err
	}
	r := &audited{out: f.out, boundaryCounts: f.area.file != "", csv: f.csv}
	for _, p := range parts {
		p.name = boundary.OutputName(strings.TrimSuffix(stem(area), ".job"))
		if err := f.checkNames(p); err != nil {
			return nil, err
		}
	}
	for _, p := range parts {
		if err := f.askForMissing(p.photos, take); err != nil {
			return nil, err
		}
	}
	ground, elevations, err := f.terrain.read(ctx, f.job(g, take, &part{photos: take.photos}))
	if err != nil {
		return nil, err
	}
	for _, p := range parts {
		job := f.job(g, take, p)
		job.Terrain = ground
		job.Errors = f.doubt.errors()
		f.refly.apply(&job, g)
		f.points.add(&job, marks)
		audit, err := coverage.Run(job)
		if err != nil {
			return nil, err
		}
		audit.Findings = slices.Concat(take.findings, marks.findings, audit.Findings)
		note := &report.Note{
			Title: g.name, Site: areaNames(g.areas, g.name), Letterhead: head,
			Tool: "Selvage", Version: version, Made: made,
			Inputs: slices.Concat(g.inputs, take.inputs, elevations, marks.inputs), Parameters: slices.Concat(g.parameters, f.parameters(take, p)),
			Command: f.command(p, args), Units: f.units.Units, Audit: audit,
			SiteArea: g.site, FlightArea: g.flight, KeepOut: g.keepOut, Findings: g.findings,
		}
		r.add(p, note)
	}
	return r, nil
}

func (f *auditFlags) job(g *ground, t *take, p *part) coverage.Job {
	return coverage.Job{
		Site: g.site, Flight: g.flight, Photos: p.photos, LeftOut: slices.Concat(t.leftOut, p.leftOut),
		Height: f.height.orNaN(), Ground: f.ground.orNaN(), Camera: f.camera.Camera,
		Wanted: coverage.Wanted{
			Views: f.minViews, Forward: f.overlap.forward, Side: f.overlap.side, GSD: f.gsd.metres,
		},
		MinZone: f.minZone.squareMetres,
		MaxBlur: f.maxBlur.value, Trigger: f.trigger.value, Others: fileNames(t.photos),
	}
}

func fileNames(photos []photo.Photo) []string {
	names := make([]string, len(photos))
	for i, p := range photos {
		names[i] = p.File
	}
	return names
}

// askForMissing names the flag that says what no photo says.
func (f *auditFlags) askForMissing(photos []photo.Photo, t *take) error {
	if len(photos) == 0 {
		return nil // coverage.Run says so
	}
	high := f.heightsKnown(photos)
	seen := slices.ContainsFunc(photos, func(p photo.Photo) bool { return p.Camera.Merge(f.camera.Camera).Complete() })
	if property := t.suggested[photo.Height]; !high && property != "" {
		return fmt.Errorf("the height above ground is not known; the photos carry a property that may hold it: look at it with selvage photos, and add %s if it does; or add --ground 132m or --height 80m", property)
	}
	switch {
	case !high && f.terrain.given():
		return errors.New("the photos give no altitude to take the terrain's from; add the height flown above ground, as in --height 80m")
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

// parameters puts the settings into words.
func (f *auditFlags) parameters(t *take, p *part) []report.Setting {
	all := []report.Setting{{Name: finding.Say("Wanted views"), Value: finding.Say("%s", finding.Whole(f.minViews))}}
	add := func(name, value finding.Text, given bool) {
		if given {
			all = append(all, report.Setting{Name: name, Value: value})
		}
	}
	add(finding.Say("Wanted overlap, forward / side"), finding.Say("%s / %s", finding.Share(f.overlap.forward), finding.Share(f.overlap.side)), f.overlap.forward > 0)
	add(finding.Say("Wanted ground sample distance"), finding.Say("%s", finding.GSD(f.gsd.metres)), f.gsd.given)
	add(finding.Say("Altitude of the ground"), finding.Say("%s", finding.Length(f.ground.metres)), f.ground.given)
	add(finding.Say("Height above ground"), finding.Say("%s", finding.Length(f.height.metres)), f.height.given)
	add(finding.Say("Camera"), finding.Plain(f.camera.text), f.camera.text != "")
	add(finding.Say("Smallest zone listed"), finding.Say("%s", finding.Area(f.minZone.squareMetres)), true)
	add(finding.Say("Buffer of areas to fly again"), f.refly.parameter(), true)
	add(finding.Say("Most motion blur"), finding.Say("%s px", finding.Decimal("%g", f.maxBlur.value)), true)
	add(finding.Say("Least time between photos"), finding.Say("%s s", finding.Decimal("%g", f.trigger.value)), f.trigger.given)
	add(finding.Say("Planned footprint"), finding.Plain(f.planned.text), f.planned.text != "")
	add(finding.Say("Field of view"), finding.Plain(f.view.text), f.view.text != "")
	all = slices.Concat(all, f.terrain.parameters(), f.photos.parameters(), f.doubt.parameters(), f.points.parameters())
	add(finding.Say("Sensor"), p.title(), p.number > 0)
	add(finding.Plain(report.NotLookedInto), t.passed, !t.passed.Empty())
	add(finding.Say("Hash of the photos"), finding.Plain(headHash), slices.ContainsFunc(t.inputs, func(i report.Input) bool { return i.Role == "photos" }))
	return all
}
