package report

import (
	"encoding/json"
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"selvage/coverage"
	"selvage/coverage/photo"
)

// keys lists the paths of all keys in a JSON value; [] stands for any element.
func keys(value any, path string, out map[string]bool) {
	switch value := value.(type) {
	case map[string]any:
		for k, v := range value {
			out[path+k] = true
			if k != "said" { // is within itself
				keys(v, path+k+".", out)
			}
		}
	case []any:
		for _, v := range value {
			keys(v, strings.TrimSuffix(path, ".")+"[].", out)
		}
	}
}

// The keys are part of what the tool promises; programs read them by name.
func TestJSONKeys(t *testing.T) {
	want := strings.Fields(`
		version units wanted wanted.views wanted.forward_overlap wanted.side_overlap wanted.gsd_mm
		inputs inputs[].role inputs[].name inputs[].sha256 parameters parameters[].name parameters[].value
		command command.name command.sensor command.flags command.flags[].name command.flags[].value
		command.arguments command.arguments[].name command.arguments[].path
		flown flown.cameras flown.cameras[].sensor_width_mm flown.cameras[].sensor_height_mm flown.cameras[].focal_length_mm
		flown.cameras[].columns flown.cameras[].rows flown.cameras[].photos
		flown.height_m flown.height_m.median flown.height_m.min flown.height_m.max
		flown.line_photos flown.line_length_m flown.track_m flown.time_s
		letterhead letterhead.operator letterhead.client letterhead.site letterhead.licence letterhead.remarks
		site_area_m2
		photos photos.read photos.used photos.left_out photos.left_out[].file photos.left_out[].reason
		photos.outside_centres photos.duplicates
		totals totals.gap_m2 totals.no_stereo_m2 totals.thin_m2 totals.covered_share totals.enough_share
		zones zones[].kind zones[].area_m2 zones[].lon zones[].lat zones[].certain_share
		edge edge.length_m edge.captured_m edge.wanted_views edge.stretches
		edge.stretches[].ring edge.stretches[].from_m edge.stretches[].to_m edge.stretches[].min_views
		edge.stretches[].lon edge.stretches[].lat
		edge.verdict edge.said edge.reach edge.reach.median_m edge.reach.least_m edge.reach.lon edge.reach.lat edge.reach.half_footprint_along_m
		edge.reach.half_footprint_across_m edge.reach.needed_along_m edge.reach.needed_across_m edge.reach.enough_share edge.reach.n
		points points[].name points[].number points[].lon points[].lat points[].outside points[].views points[].wanted_views
		points[].clear_views points[].lines points[].off_line_views points[].best_file points[].best_edge_m points[].best_edge_share
		points[].least_edge_m points[].least_edge_share points[].gsd_mm points[].files
		overlap overlap.forward overlap.forward.median overlap.forward.min overlap.forward.below_share overlap.forward.n
		overlap.side overlap.side.median overlap.side.min overlap.side.below_share overlap.side.n
		gsd_mm gsd_mm.median gsd_mm.min gsd_mm.max
		overlap.weakest overlap.weakest[].first overlap.weakest[].second overlap.weakest[].overlap
		overlap.weakest[].apart_m overlap.weakest[].cause
		refly refly[].zones refly[].stretches refly[].area_m2 refly[].course_deg refly[].lines refly[].photos refly[].track_m
		refly[].minutes refly[].closes refly[].remaining_m2 refly[].remaining_edge_m
		refly_plan refly_plan.height_m refly_plan.gsd_mm refly_plan.forward_overlap refly_plan.side_overlap refly_plan.overlaps_raised
		refly_plan.air_base_m refly_plan.line_spacing_m refly_plan.speed_m_s refly_plan.speed_assumed refly_plan.buffer_m
		refly_plan.lines refly_plan.photos refly_plan.track_m refly_plan.minutes refly_plan.closes refly_plan.remaining_m2
		refly_plan.remaining_edge_m refly_plan.kept_out_m2
		flights flights[].start flights[].end flights[].photos flights[].lines flights[].on_line flights[].in_turn
		flights[].in_transit flights[].in_climb flights[].on_ground flights[].interval_s
		lines lines[].flight lines[].photos lines[].used lines[].course_deg lines[].length_m lines[].start lines[].flown_s
		lines[].speed_m_s lines[].blur_speed_m_s lines[].trigger_speed_m_s lines[].allowed_m_s lines[].limit lines[].spare_s
		speed speed.max_blur_px speed.trigger_s speed.flown_s speed.speed_m_s speed.allowed_m_s speed.spare_s
		speed.blur_known speed.blurred speed.blurred[].file speed.blurred[].blur_px speed.blurred[].speed_m_s speed.blurred[].exposure_s
		missing missing[].kind missing[].count missing[].after missing[].before missing[].lon missing[].lat missing[].time missing[].flight
		certainty certainty.certainly certainty.certainly.no_view_m2 certainty.certainly.below_two_m2 certainty.certainly.below_wanted_m2
		certainty.certainly.edge_short_m certainty.measured certainty.measured.no_view_m2 certainty.measured.below_two_m2
		certainty.measured.below_wanted_m2 certainty.measured.edge_short_m certainty.perhaps certainty.perhaps.no_view_m2
		certainty.perhaps.below_two_m2 certainty.perhaps.below_wanted_m2 certainty.perhaps.edge_short_m
		certainty.radius_m certainty.radius_m.median certainty.radius_m.max certainty.position_error_m certainty.position_error_m.median
		certainty.position_error_m.max certainty.attitude_error_deg certainty.attitude_error_deg.median certainty.attitude_error_deg.max
		certainty.height_error_m certainty.height_error_m.median certainty.height_error_m.max
		one_line one_line.area_m2 one_line.zones one_line.zones[].area_m2 one_line.zones[].lon one_line.zones[].lat
		gsd_by_place gsd_by_place.cell_m gsd_by_place.best_mm gsd_by_place.best_mm.median gsd_by_place.best_mm.min gsd_by_place.best_mm.max
		gsd_by_place.median_mm gsd_by_place.median_mm.median gsd_by_place.median_mm.min gsd_by_place.median_mm.max
		gsd_by_place.best_tenths_mm gsd_by_place.coarse gsd_by_place.coarse.area_m2 gsd_by_place.coarse.zones
		gsd_by_place.coarse.zones[].area_m2 gsd_by_place.coarse.zones[].lon gsd_by_place.coarse.zones[].lat
		views views.cell_m views.shares
		overlap.forward.bins overlap.forward.bins[].from overlap.forward.bins[].to overlap.forward.bins[].n overlap.forward.bins[].missed
		overlap.side.bins overlap.side.bins[].from overlap.side.bins[].to overlap.side.bins[].n overlap.side.bins[].missed
		gsd_mm.bins gsd_mm.bins[].from gsd_mm.bins[].to gsd_mm.bins[].n gsd_mm.bins[].missed
		gsd_by_place.best_mm.bins gsd_by_place.best_mm.bins[].from gsd_by_place.best_mm.bins[].to gsd_by_place.best_mm.bins[].n gsd_by_place.best_mm.bins[].missed
		gsd_by_place.median_mm.bins gsd_by_place.median_mm.bins[].from gsd_by_place.median_mm.bins[].to gsd_by_place.median_mm.bins[].n gsd_by_place.median_mm.bins[].missed
		findings findings[].code findings[].severity findings[].text findings[].said findings[].lon findings[].lat
		findings[].feature findings[].name findings[].part findings[].ring findings[].vertex
		findings[].file findings[].line findings[].amount findings[].unit
		files files[].role files[].path`)
	var value any
	if err := json.Unmarshal([]byte(render(t, fakeNote(), WriteJSON)), &value); err != nil {
		t.Fatal(err)
	}
	got := map[string]bool{}
	keys(value, "", got)
	for _, k := range want {
		if !got[k] {
			t.Errorf("%s is missing", k)
		}
		delete(got, k)
	}
	for k := range got {
		t.Errorf("%s is new", k)
	}
}

func TestJSONValues(t *testing.T) {
	var got auditValues
	if err := json.Unmarshal([]byte(render(t, fakeNote(), WriteJSON)), &got); err != nil {
		t.Fatal(err)
	}
	if s := got.Edge.Stretches[1]; s.Ring != 1 || s.From != 570 || s.To != 580 || s.Views == nil || *s.Views != 0 {
		t.Errorf("second stretch: %+v", s)
	}
	// Half way between 170 and 180 m north of the corner.
	if s := got.Edge.Stretches[1]; math.Abs(s.Lat-local(400, 175).Lat()) > 1e-8 || math.Abs(s.Lon-local(400, 175).Lon()) > 1e-8 {
		t.Errorf("middle of the second stretch: %v, %v", s.Lon, s.Lat)
	}
	if b := got.GSD.Bins; len(b) != 2 || b[1].From != 20 || b[1].To != 22 || b[1].N != 4 || b[1].Missed != 4 {
		t.Errorf("bins of the GSD in millimetres: %v", b)
	}
	if got.GSD.Median != 18.7 || got.GSD.Max != 21.2 {
		t.Errorf("GSD in millimetres: %v", got.GSD)
	}
	if !slices.Equal(got.Refly[0].Zones, []int{1, 3, 4}) {
		t.Errorf("zones of the first re-fly area: %v", got.Refly[0].Zones)
	}
	if got.Findings[0].Code != "unclosed-ring" || len(got.Findings) != 3 {
		t.Errorf("findings: %+v", got.Findings)
	}
}

type auditValues struct {
	Edge struct {
		Stretches []struct {
			Ring     int
			From     float64 `json:"from_m"`
			To       float64 `json:"to_m"`
			Views    *int    `json:"min_views"`
			Lon, Lat float64
		}
	}
	GSD struct {
		Median, Max float64
		Bins        []struct {
			From, To  float64
			N, Missed int
		}
	} `json:"gsd_mm"`
	Refly    []struct{ Zones []int }
	Findings []struct{ Code string }
}

func TestJSONOfNothing(t *testing.T) {
	a := &coverage.Audit{}
	a.GSD.Median, a.Totals.Gap = math.NaN(), math.Inf(1)
	got := render(t, Note{Audit: a}, WriteJSON)
	if !json.Valid([]byte(got)) {
		t.Fatalf("not JSON: %s", got)
	}
	for _, want := range []string{`"zones": []`, `"left_out": []`, `"stretches": []`, `"refly": []`, `"flights": []`, `"lines": []`, `"missing": []`, `"weakest": []`, `"blurred": []`, `"findings": []`, `"files": []`, `"gap_m2": null`, `"median": null`} {
		if !strings.Contains(got, want) {
			t.Errorf("no %s", want)
		}
	}
}

func TestGeoJSON(t *testing.T) {
	n := fakeNote()
	slices.Reverse(n.SiteArea[0][0]) // a clockwise outline has to be turned
	text := render(t, n, WriteGeoJSON)
	var collection struct {
		Type     string
		Features []struct {
			Type       string
			Properties struct{ Role string }
			Geometry   struct {
				Type        string
				Coordinates json.RawMessage
			}
		}
	}
	if err := json.Unmarshal([]byte(text), &collection); err != nil {
		t.Fatal(err)
	}
	if collection.Type != "FeatureCollection" {
		t.Errorf("the type is %q", collection.Type)
	}
	roles := map[string]int{}
	for _, f := range collection.Features {
		role := f.Properties.Role
		roles[role]++
		var polygons []orb.Polygon
		var err error
		switch f.Geometry.Type {
		case "Point":
			err = json.Unmarshal(f.Geometry.Coordinates, new(orb.Point))
		case "LineString":
			err = json.Unmarshal(f.Geometry.Coordinates, new(orb.LineString))
		case "Polygon":
			polygons = make([]orb.Polygon, 1)
			err = json.Unmarshal(f.Geometry.Coordinates, &polygons[0])
		case "MultiPolygon":
			err = json.Unmarshal(f.Geometry.Coordinates, &polygons)
		default:
			t.Errorf("%s: the geometry is a %q", role, f.Geometry.Type)
		}
		if err != nil || f.Type != "Feature" {
			t.Errorf("%s: type %q, %v", role, f.Type, err)
		}
		for _, p := range polygons {
			for i, r := range p {
				if area := shoelace(r); area > 0 != (i == 0) {
					t.Errorf("%s: ring %d runs the wrong way (RFC 7946, 3.1.6)", role, i)
				}
			}
		}
	}
	for role, want := range map[string]int{"site": 1, "flight": 1, "refly": 2, "zone": 4, "stretch": 2, "control point": 3, "one line": 1, "coarse": 1, "photo centre": 78, "footprint": 78} {
		if roles[role] != want {
			t.Errorf("%d features have the role %s, want %d", roles[role], role, want)
		}
		delete(roles, role)
	}
	if len(roles) > 0 {
		t.Errorf("more roles: %v", roles)
	}
	if long := regexp.MustCompile(`\d\.\d{9,}`).FindString(text); long != "" {
		t.Errorf("%s has more than 8 decimals", long)
	}
	if n.SiteArea[0][0].Orientation() != orb.CW {
		t.Error("writing turned the caller's ring")
	}
	n.Audit.Shots[3].Position = orb.Point{math.NaN(), 1}
	if err := WriteGeoJSON(io.Discard, n); err == nil {
		t.Error("a position that is not a number went through")
	}
}

func shoelace(ring orb.Ring) (area float64) {
	for i := 1; i < len(ring); i++ {
		area += (ring[i-1][0]-ring[0][0])*(ring[i][1]-ring[0][1]) - (ring[i][0]-ring[0][0])*(ring[i-1][1]-ring[0][1])
	}
	return area / 2
}

func TestReflyKML(t *testing.T) {
	n := fakeNote()
	var doc struct {
		Places []struct {
			Name        string `xml:"name"`
			Coordinates string `xml:"Polygon>outerBoundaryIs>LinearRing>coordinates"`
		} `xml:"Document>Placemark"`
	}
	if err := xml.Unmarshal([]byte(render(t, n, WriteReflyKML)), &doc); err != nil {
		t.Fatal(err)
	}
	if len(doc.Places) != 2 || doc.Places[0].Name != "Re-fly 1" {
		t.Fatalf("placemarks: %+v", doc.Places)
	}
	first := strings.Split(strings.Fields(doc.Places[0].Coordinates)[0], ",")
	lon, _ := strconv.ParseFloat(first[0], 64)
	if math.Abs(lon-n.Audit.Refly[0].Shape[0][0].Lon()) > 1e-8 {
		t.Errorf("the first longitude is %v", first)
	}
	n.Audit.Refly = nil
	if err := WriteReflyKML(io.Discard, n); err == nil {
		t.Error("a file without an area was written")
	}
}

// The note of a real audit of 500 photos has to stay small enough to send.
func TestSizeOfNote(t *testing.T) {
	n := fakeNote()
	n.SiteArea = orb.MultiPolygon{{ring(0, 0, 900, 60, 860, 640, 300, 560, 20, 600), ring(300, 200, 300, 300, 420, 300, 420, 200)}}
	job := coverage.Job{
		Site: n.SiteArea, Height: math.NaN(), Ground: math.NaN(), MinZone: 1, ReflyBuffer: 10,
		Camera: photo.Camera{SensorWidth: 13.2, SensorHeight: 8.8, FocalLength: 8.8, Columns: 5472, Rows: 3648},
		Wanted: coverage.Wanted{Views: 6, Forward: 0.75, Side: 0.65, GSD: 0.02},
	}
	for i := range 500 {
		line, k := i/25, float64(i%25)
		if line%2 == 1 {
			k = 24 - k
		}
		if line == 12 && k > 10 {
			continue // a gap
		}
		// Wind and gusts: positions and headings are never quite regular.
		x, y := 45*float64(line)+4*math.Sin(float64(i)*1.7), 25*k+3*math.Sin(float64(i)*2.9)
		job.Photos = append(job.Photos, photo.Photo{
			File: "A" + strconv.Itoa(i), Position: local(x, y), Altitude: math.NaN(), Height: 80 + 2*math.Sin(float64(i)),
			Yaw: 180*float64(line%2) + 5*math.Sin(float64(i)*0.7), Pitch: -90, Roll: 0,
			Time: time.Date(2025, 6, 3, 9, 0, 2*i, 0, time.UTC), PositionError: math.NaN(),
		})
	}
	a, err := coverage.Run(job)
	if err != nil {
		t.Fatal(err)
	}
	n.Audit = a
	page := render(t, n, WriteHTML)
	elements(t, page)
	t.Logf("%d photos, %d zones: %d bytes", a.Photos.Used, len(a.Zones), len(page))
	if len(page) > 1_500_000 {
		t.Errorf("the note has %d bytes", len(page))
	}
}
