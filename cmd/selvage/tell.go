package main

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
)

// sourceOf says where a photo's value was read.
func sourceOf(p *photo.Photo, q photo.Quantity) photo.Source {
	switch q {
	case photo.Height:
		return p.Sources.Height
	case photo.Altitude:
		return p.Sources.Altitude
	case photo.Yaw:
		return p.Sources.Yaw
	case photo.Pitch:
		return p.Sources.Pitch
	case photo.Roll:
		return p.Sources.Roll
	}
	return p.Sources.PositionError
}

// tellProperties says how many photos had the properties that were named.
func (t *take) tellProperties(names photo.Names) {
	for _, q := range quantities {
		name, had, all, first := names[q], 0, 0, ""
		if name == "" {
			continue
		}
		for i := range t.photos {
			switch source := sourceOf(&t.photos[i], q); {
			case source == photo.XMP:
				had++
				all++
			case source != photo.Table && source != photo.Corrected:
				if all++; first == "" {
					first = t.photos[i].File
				}
			}
		}
		if had > 0 {
			t.say(finding.PropertyChosen, finding.Note, had, "photos", finding.Say("The %s of %s is read from the XMP property %s, as it stands.",
				quantityWords[q], finding.Counted(had, "photo", "photos"), name))
		}
		if all == had {
			continue
		}
		of := finding.Counted(all, "photo", "photos")
		text := finding.Either(all-had == 1,
			finding.Say("1 of %s has no number in the XMP property %s, which was named for the %s (the first is %s).", of, name, quantityWords[q], oneLine(first)),
			finding.Say("%s of %s have no number in the XMP property %s, which was named for the %s (the first is %s).", finding.Whole(all-had), of, name, quantityWords[q], oneLine(first)))
		if had == 0 {
			text = finding.Say("No photo has a number in the XMP property %s, which was named for the %s.", name, quantityWords[q])
		}
		t.say(finding.PropertyMissing, finding.NeedsAnswer, all-had, "photos", text)
	}
}

// mostModels is how many camera models are looked into for properties.
const mostModels = 10

// suggest looks into the first photo of each camera model for properties that
// may hold what that model's photos do not say.
func (t *take) suggest(found *search, names photo.Names) {
	paths := map[string]string{}
	for _, s := range found.photos {
		paths[s.name] = s.path
	}
	seen := map[string]bool{}
	offers := map[photo.Quantity][]string{}
	texts := map[photo.Quantity][]finding.Text{}
	for i := range t.photos {
		p := &t.photos[i]
		path, file := paths[p.File]
		if !file || seen[p.CameraModel] || len(seen) == mostModels {
			continue
		}
		seen[p.CameraModel] = true
		for q, list := range propertiesOf(path) {
			if names[q] != "" || q != photo.Height && sourceOf(p, q) != photo.Unsaid || q == photo.Height && !math.IsNaN(p.Height) {
				continue
			}
			for _, property := range list {
				offer := finding.Say("%s (%s in %s)", property.Name, finding.Decimal("%.6g", property.Value), oneLine(p.File))
				if key := offer.String(); !slices.Contains(offers[q], key) {
					offers[q], texts[q] = append(offers[q], key), append(texts[q], offer)
				}
			}
		}
	}
	t.suggested = map[photo.Quantity]string{}
	for _, q := range quantities {
		list := offers[q]
		if len(list) == 0 {
			continue
		}
		name, _, _ := strings.Cut(list[0], " ")
		t.suggested[q] = fmt.Sprintf("--xmp %s=%s", q, name)
		const most = 4
		shown := finding.Commas(texts[q][:min(len(list), most)])
		if len(list) > most {
			shown = finding.Say("%s and others", shown)
		}
		t.say(finding.PropertySuggested, finding.Note, len(list), "properties",
			finding.Either(len(list) == 1,
				finding.Say("The photos do not say their %s, but carry a property by whose name it may hold it: %s. If so, use --xmp %s=%s.", quantityWords[q], shown, q, name),
				finding.Say("The photos do not say their %s, but carry properties by whose names they may hold it: %s. If so, use --xmp %s=%s.", quantityWords[q], shown, q, name)))
	}
}

// propertiesOf returns the properties of a photo that its values may be in.
// What cannot be read has none.
func propertiesOf(path string) map[photo.Quantity][]photo.Property {
	f, err := os.Open(path)
	if err != nil {
		return nil
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil
	}
	list, err := photo.Properties(f, info.Size())
	if err != nil {
		return nil
	}
	return photo.Suggest(list)
}

// turn brings altitudes to sea level, and says so.
func (f *photoFlags) turn(t *take) {
	if f.datum.word != "" {
		datum := photo.SeaLevel
		if f.datum.word == fromEllipsoid {
			datum = photo.Ellipsoid
		}
		n, differ := 0, 0
		for i := range t.photos {
			p := &t.photos[i]
			if math.IsNaN(p.Altitude) {
				continue
			}
			n++
			if p.AltitudeDatum != datum && p.AltitudeDatum != photo.UnknownDatum {
				differ++
			}
			p.AltitudeDatum = datum
		}
		of, datumWord := finding.Counted(n, "photo", "photos"), datumWords[f.datum.word]
		text := finding.Say("The altitudes of %s are taken as above %s, as was said on the command line.", of, datumWord)
		switch {
		case differ == 1:
			text = finding.Say("The altitudes of %s are taken as above %s, as was said on the command line; 1 themselves says otherwise.", of, datumWord)
		case differ > 1:
			text = finding.Say("The altitudes of %s are taken as above %s, as was said on the command line; %s themselves say otherwise.", of, datumWord, finding.Whole(differ))
		}
		t.say(finding.AltitudesTurned, finding.Note, n, "photos", text)
	}
	if !f.geoid.given {
		return
	}
	n := 0
	for i := range t.photos {
		if p := &t.photos[i]; p.AltitudeDatum == photo.Ellipsoid {
			p.Altitude -= f.geoid.metres
			p.AltitudeDatum = photo.SeaLevel
			n++
		}
	}
	if n == 0 {
		t.say(finding.AltitudesTurned, finding.Note, 0, "photos",
			finding.Say("No photo says that its altitude counts from the ellipsoid, so --geoid-offset changes none; --altitude-datum ellipsoid says it for them."))
		return
	}
	t.say(finding.AltitudesTurned, finding.Note, n, "photos",
		finding.Say("The altitudes of %s, above the ellipsoid, are turned into altitudes above sea level: the geoid lies %s above the ellipsoid here, as given.",
			finding.Counted(n, "photo", "photos"), finding.Given(f.geoid.metres)))
}

// tellDatum says what may be wrong where the photos' altitudes are held
// against that of the ground.
func (t *take) tellDatum() {
	counts := map[string]int{}
	for _, p := range t.photos {
		if math.IsNaN(p.Height) && !math.IsNaN(p.Altitude) {
			counts[p.AltitudeDatum]++
		}
	}
	if n := counts[photo.Ellipsoid]; n > 0 {
		t.say(finding.AltitudeDatum, finding.NeedsAnswer, n, "photos",
			finding.Sentences(finding.Say("The altitudes of %s count from the ellipsoid.", finding.Counted(n, "photo", "photos")),
				finding.Say("If that of the ground counts from sea level, as on maps, heights above ground can be wrong by the height of the geoid above the ellipsoid: tens of metres in most places."),
				finding.Say("Give that height with --geoid-offset, or 0m if both count from the ellipsoid.")))
	}
	if n := counts[photo.UnknownDatum]; n > 0 {
		t.say(finding.AltitudeDatum, finding.Note, n, "photos",
			finding.Sentences(finding.Either(n == 1,
				finding.Say("1 photo does not say what its altitude counts from."),
				finding.Say("%s photos do not say what their altitude counts from.", finding.Whole(n))),
				finding.Say("If that of the ground counts from elsewhere, heights above ground can be wrong by the height of the geoid above the ellipsoid: tens of metres in most places."),
				finding.Say("--altitude-datum says what it is.")))
	}
}

// tellPositions says which photos give their positions on another datum.
func (t *take) tellPositions() {
	var datums []string
	others := 0
	for i := range t.photos {
		p := &t.photos[i]
		if isWGS84(p.MapDatum) {
			continue
		}
		if others++; !slices.Contains(datums, p.MapDatum) && len(datums) < mostModels {
			datums = append(datums, p.MapDatum)
		}
	}
	if others > 0 {
		t.say(finding.PositionDatum, finding.NeedsAnswer, others, "photos",
			finding.Say("%s another datum than WGS 84 for the position: %s. The positions are taken as they stand, as if on WGS 84.",
				finding.Counted(others, "photo names", "photos name"), firstNames(datums)))
	}
}

// mostDoubt is how far two figures for one field of view may lie apart: whole
// millimetres of a 35 mm equivalent, of widths or of diagonals, make up to
// about 5 % (common practice, no source).
const mostDoubt = 0.1

// tellCameras says what the photos' own figures of the camera leave in doubt.
func (t *take) tellCameras() {
	var differ, narrowed, zoomed int
	most, zoom, first := 1.0, 1.0, ""
	for i := range t.photos {
		p := &t.photos[i]
		s := sensorOf(*p)
		if s.zoom > 0 {
			zoomed++
			zoom = max(zoom, p.DigitalZoom)
		}
		switch d := p.CameraDoubt; {
		case !(math.Abs(d-1) > mostDoubt):
			continue
		case s.zoom > 0 && d == p.DigitalZoom:
			narrowed++
		default:
			if differ++; math.Abs(math.Log(d)) > math.Abs(math.Log(most)) {
				most = d
			}
		}
		if first == "" {
			first = oneLine(p.File)
		}
	}
	if differ > 0 {
		t.say(finding.CameraDoubtful, finding.NeedsAnswer, differ, "photos",
			finding.Sentences(finding.Say("%s two fields of view (the first is %s): by the 35 mm equivalent, the image is up to %s times as wide as by the focal-plane resolution, which is used.",
				finding.Counted(differ, "photo states", "photos state"), first, finding.Decimal("%.2f", most)), giveFigures))
	}
	if narrowed > 0 {
		t.say(finding.CameraDoubtful, finding.NeedsAnswer, narrowed, "photos",
			finding.Sentences(finding.Say("%s a 35 mm equivalent and a digital zoom (the first is %s). If the zoom is in the equivalent already, the image is up to %s times as wide as taken here.",
				finding.Counted(narrowed, "photo states", "photos state"), first, finding.Decimal("%.2f", zoom)), giveFigures))
	}
	if zoomed > 0 {
		t.say(finding.DigitalZoom, finding.Note, zoomed, "photos", finding.Say("%s taken with digital zoom, %s× at most; the sensor size is narrowed by it.",
			finding.Counted(zoomed, "photo was", "photos were"), finding.Decimal("%.3g", zoom)))
	}
}

var giveFigures = finding.Say("Give the camera’s figures with --camera or --fov.")

// isWGS84 also takes what names no datum.
func isWGS84(datum string) bool {
	var plain strings.Builder
	for _, r := range strings.ToUpper(datum) {
		if r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' {
			plain.WriteRune(r)
		}
	}
	switch plain.String() {
	case "", "WGS84", "WGS1984", "WORLDGEODETICSYSTEM1984", "EPSG4326":
		return true
	}
	return false
}
