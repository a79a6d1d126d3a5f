package boundary

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// Job is the record of a prepared boundary, from which an audit can start.
// Lengths are metres, areas square metres, shapes degrees lon/lat.
type Job struct {
	ToolVersion  string
	ClientFile   string
	ClientSHA256 string
	Buffer       float64
	Join         string // "round" or "mitre"
	MitreLimit   float64
	Margins      []OwnMargin // buffers besides Buffer
	MaxVertices  int         // that a polygon of the flight area may have, 0 for any number
	ClientArea   float64
	SiteArea     float64
	FlightArea   float64
	MinDistance  float64 // least distance from the site area's edge to the flight area's
	Client       []Part  // as read, defects included
	Site, Flight []Area
	KeepOut      []KeepOut
	Findings     []finding.Finding
	Mends        []Mended
}

// Mended is one fault that was mended, with the ring or polygon before and
// after. Areas are square metres.
type Mended struct {
	Code                          finding.Code
	Place                         finding.Place
	Text                          finding.Text
	VerticesBefore, VerticesAfter int
	AreaBefore, AreaAfter         float64 // m²
	Displacement                  float64 // metres that a vertex of the boundary has moved at most
}

type mendedWire struct {
	Code           finding.Code    `json:"code"`
	Text           string          `json:"text"`
	Said           json.RawMessage `json:"said,omitempty"`
	Feature        int             `json:"feature,omitempty"`
	Part           int             `json:"part,omitempty"`
	Ring           int             `json:"ring,omitempty"`
	VerticesBefore int             `json:"vertices_before"`
	VerticesAfter  int             `json:"vertices_after"`
	AreaBefore     float64         `json:"area_before_m2"`
	AreaAfter      float64         `json:"area_after_m2"`
	Displacement   float64         `json:"displacement_m"`
}

// MarshalJSON writes m as one flat object, areas to 0.01 m² and lengths to 0.1 mm.
func (m Mended) MarshalJSON() ([]byte, error) {
	return json.Marshal(mendedWire{
		m.Code, m.Text.String(), m.Text.Said(), m.Place.Feature, m.Place.Part, m.Place.Ring,
		m.VerticesBefore, m.VerticesAfter,
		finding.Round(m.AreaBefore, 2), finding.Round(m.AreaAfter, 2), finding.Round(m.Displacement, 4),
	})
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (m *Mended) UnmarshalJSON(data []byte) error {
	var w mendedWire
	if err := json.Unmarshal(data, &w); err != nil {
		return err
	}
	*m = Mended{
		Code: w.Code, Text: finding.Read(w.Text, w.Said),
		Place:          finding.Place{Feature: w.Feature, Part: w.Part, Ring: w.Ring},
		VerticesBefore: w.VerticesBefore, VerticesAfter: w.VerticesAfter,
		AreaBefore: w.AreaBefore, AreaAfter: w.AreaAfter, Displacement: w.Displacement,
	}
	return nil
}

const jobVersion = 1

// jobHead is the member "selvage_job" of the record.
type jobHead struct {
	Version      int         `json:"version"`
	ToolVersion  string      `json:"tool_version"`
	ClientFile   string      `json:"client_file"`
	ClientSHA256 string      `json:"client_sha256"`
	Buffer       float64     `json:"buffer_m"`
	Join         string      `json:"join"`
	MitreLimit   float64     `json:"mitre_limit"`
	Margins      []OwnMargin `json:"margins,omitempty"`
	MaxVertices  int         `json:"max_vertices,omitempty"`
	ClientArea   float64     `json:"client_area_m2"`
	SiteArea     float64     `json:"site_area_m2"`
	FlightArea   float64     `json:"flight_area_m2"`
	MinDistance  float64     `json:"min_distance_m"`
}

type jobFeature struct {
	Type       string        `json:"type"`
	Properties jobProperties `json:"properties"`
	Geometry   *jobGeometry  `json:"geometry"`
}

const (
	roleClient  = "client"
	roleSite    = "site"
	roleFlight  = "flight"
	roleKeepOut = "keep-out"
)

type jobProperties struct {
	Role    string  `json:"role"`
	Name    string  `json:"name"`
	Feature int     `json:"feature,omitempty"` // these three for the client's parts
	Part    int     `json:"part,omitempty"`
	Line    int     `json:"line,omitempty"`
	Buffer  float64 `json:"buffer_m,omitempty"` // that the client's part brings
	Margin  float64 `json:"margin_m,omitempty"` // of a keep-out area
}

type jobGeometry struct {
	Type        string `json:"type"`
	Coordinates any    `json:"coordinates"`
}

// position is a point in GeoJSON, without exponents.
type position orb.Point

func (p position) MarshalJSON() ([]byte, error) {
	if math.IsNaN(p[0]) || math.IsNaN(p[1]) || math.IsInf(p[0], 0) || math.IsInf(p[1], 0) {
		return nil, errors.New("a position is not finite")
	}
	out := strconv.AppendFloat([]byte{'['}, p[0], 'f', -1, 64)
	out = strconv.AppendFloat(append(out, ','), p[1], 'f', -1, 64)
	return append(out, ']'), nil
}

// WriteJob writes the record as GeoJSON (RFC 7946) with the members
// "selvage_job", "findings" and "mends" besides. Each feature has the role
// client, site, flight or keep-out. A part of the client's that has an unclosed ring
// cannot be a polygon there and is written as lines, its rings of fewer than
// two vertices left out. The same job gives the same bytes.
func WriteJob(w io.Writer, job Job) error {
	features, err := jobFeatures(job)
	if err != nil {
		return fmt.Errorf("job record: %w", err)
	}
	head, err := json.MarshalIndent(jobHead{
		jobVersion, job.ToolVersion, job.ClientFile, job.ClientSHA256,
		job.Buffer, job.Join, job.MitreLimit, job.Margins, job.MaxVertices,
		finding.Round(job.ClientArea, 2), finding.Round(job.SiteArea, 2), finding.Round(job.FlightArea, 2), finding.Round(job.MinDistance, 4),
	}, "  ", "  ")
	if err != nil {
		return fmt.Errorf("job record: %w", err)
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, "{\n  \"type\": \"FeatureCollection\",\n  \"selvage_job\": %s", head)
	err = errors.Join(
		writeLines(&out, "features", features),
		writeLines(&out, "findings", job.Findings),
		writeLines(&out, "mends", job.Mends),
	)
	if err != nil {
		return fmt.Errorf("job record: %w", err)
	}
	out.WriteString("\n}\n")
	_, err = w.Write(out.Bytes())
	return err
}

// writeLines adds a member that is a list, one element a line.
func writeLines[T any](out *bytes.Buffer, key string, list []T) error {
	fmt.Fprintf(out, ",\n  %q: [", key)
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false) // "Müller & Co" stays readable
	for i, element := range list {
		if i > 0 {
			out.WriteByte(',')
		}
		out.WriteString("\n    ")
		if err := enc.Encode(element); err != nil {
			return err
		}
		out.Truncate(out.Len() - 1) // the line end that Encode adds
	}
	if len(list) > 0 {
		out.WriteString("\n  ")
	}
	out.WriteByte(']')
	return nil
}

func jobFeatures(job Job) ([]jobFeature, error) {
	var features []jobFeature
	for _, part := range job.Client {
		features = append(features, jobFeature{"Feature", jobProperties{
			Role: roleClient, Name: part.Name,
			Feature: part.Place.Feature, Part: part.Place.Part, Line: part.Place.Line,
			Buffer: part.Buffer,
		}, clientGeometry(part.Polygon)})
	}
	add := func(p jobProperties, shape orb.MultiPolygon, round func(float64) float64) error {
		shape = OnGlobe(shape)
		polygons := make([][][]position, len(shape))
		for i, polygon := range shape {
			for k, ring := range polygon {
				written, err := writtenRing(ring, k == 0, round)
				if err != nil {
					return fmt.Errorf("%s area %s, polygon %d, ring %d: %w", p.Role, quote(p.Name), i+1, k+1, err)
				}
				polygons[i] = append(polygons[i], positions(written))
			}
		}
		features = append(features, jobFeature{"Feature", p, &jobGeometry{"MultiPolygon", polygons}})
		return nil
	}
	asDrawn := func(degrees float64) float64 { return degrees } // the numbers of others stay
	for _, area := range job.Site {
		if err := add(jobProperties{Role: roleSite, Name: area.Name}, area.Shape, asDrawn); err != nil {
			return nil, err
		}
	}
	for _, area := range job.Flight {
		if err := add(jobProperties{Role: roleFlight, Name: area.Name}, area.Shape, round8); err != nil {
			return nil, err
		}
	}
	for _, k := range job.KeepOut {
		if err := add(jobProperties{Role: roleKeepOut, Name: k.Name, Margin: k.Margin}, k.Shape, asDrawn); err != nil {
			return nil, err
		}
	}
	return features, nil
}

// clientGeometry keeps the rings as they are, so their winding is the client's.
func clientGeometry(polygon orb.Polygon) *jobGeometry {
	kind := "Polygon"
	var rings [][]position
	for _, ring := range polygon {
		rounded := make(orb.Ring, len(ring)) // as it will be read again, so closed by then or not
		for i, p := range ring {
			rounded[i] = orb.Point{round8(p[0]), round8(p[1])}
		}
		if len(rounded) < 2 {
			continue // no line, and were it counted as one, the record read again would be another
		}
		if !isClosed(rounded) {
			kind = "MultiLineString"
		}
		rings = append(rings, positions(rounded))
	}
	if len(rings) == 0 {
		return nil
	}
	return &jobGeometry{kind, rings}
}

// isClosed reports whether GeoJSON accepts the ring: 4 positions or more, the
// first and last the same.
func isClosed(ring orb.Ring) bool {
	return len(ring) >= 4 && ring[0] == ring[len(ring)-1]
}

func positions(ring orb.Ring) []position {
	out := make([]position, len(ring))
	for i, p := range ring {
		out[i] = position(p)
	}
	return out
}

// ReadJob reads a record that WriteJob wrote. Client parts come back as they
// were written, site and flight areas with closed rings, and whole where they
// were cut at the antimeridian. An error is a *ReadError that says why data is
// no job record. The zero Limits stand for DefaultLimits.
func ReadJob(data []byte, lim Limits) (Job, error) {
	if lim == (Limits{}) {
		lim = DefaultLimits
	}
	if int64(len(data)) > lim.Bytes {
		return Job{}, &ReadError{Text: "the job record is larger than the limit of " + megabytes(lim.Bytes) + " (--limit size)"}
	}
	text, err := toUTF8(data)
	if err != nil || !bytes.HasPrefix(bytes.TrimSpace(text), []byte("{")) {
		return Job{}, &ReadError{Text: "this is not a job record; one is the GeoJSON file that preparing a boundary writes"}
	}
	var record struct {
		Head     *jobHead `json:"selvage_job"`
		Features []struct {
			Properties jobProperties   `json:"properties"`
			Geometry   json.RawMessage `json:"geometry"`
		} `json:"features"`
		Findings []finding.Finding `json:"findings"`
		Mends    []Mended          `json:"mends"`
	}
	if err := findLongList(text); err != nil {
		return Job{}, err
	}
	if err := json.Unmarshal(text, &record); err != nil {
		return Job{}, jobFault(text, err)
	}
	head := record.Head
	switch {
	case head == nil:
		return Job{}, &ReadError{Text: "this is not a job record: it has no member “selvage_job”"}
	case head.Version != jobVersion:
		return Job{}, &ReadError{Text: fmt.Sprintf("this job record is of version %d; version %d is read here", head.Version, jobVersion)}
	}
	job := Job{
		ToolVersion: head.ToolVersion, ClientFile: head.ClientFile, ClientSHA256: head.ClientSHA256,
		Buffer: head.Buffer, Join: head.Join, MitreLimit: head.MitreLimit,
		Margins: head.Margins, MaxVertices: head.MaxVertices,
		ClientArea: head.ClientArea, SiteArea: head.SiteArea, FlightArea: head.FlightArea,
		MinDistance: head.MinDistance, Findings: record.Findings, Mends: record.Mends,
	}
	for i, f := range record.Features {
		polygons, err := jobShape(f.Geometry, lim, f.Properties.Role == roleClient)
		if err != nil {
			return Job{}, inRecord(i+1, err)
		}
		p := f.Properties
		if p.Role != roleClient && !within(polygons, 180) { // as all that is written is
			return Job{}, inRecord(i+1, &ReadError{Text: "a position is no place on Earth"})
		}
		switch p.Role {
		case roleClient:
			place := finding.Place{File: head.ClientFile, Line: p.Line, Feature: p.Feature, Name: p.Name, Part: p.Part}
			for _, polygon := range polygons {
				job.Client = append(job.Client, Part{p.Name, place, polygon, p.Buffer})
			}
		case roleSite:
			job.Site = append(job.Site, Area{Name: p.Name, Shape: FromGlobe(polygons)})
		case roleFlight:
			job.Flight = append(job.Flight, Area{Name: p.Name, Shape: FromGlobe(polygons)})
		case roleKeepOut:
			job.KeepOut = append(job.KeepOut, KeepOut{p.Name, FromGlobe(polygons), p.Margin})
		default:
			return Job{}, inRecord(i+1, &ReadError{Text: fmt.Sprintf("the role %s is not client, site, flight or keep-out", quote(p.Role))})
		}
	}
	if len(job.Site) == 0 {
		return Job{}, &ReadError{Text: "the job record is incomplete: it has no site area"}
	}
	for _, areas := range [][]Area{job.Site, job.Flight} {
		var all orb.MultiPolygon
		for _, a := range areas {
			all = append(all, a.Shape...)
		}
		if len(areas) > 1 && tangled(all, lim.Crossings) { // a single one was looked at
			return Job{}, &ReadError{Text: "the job record is damaged: " + tangledText(lim.Crossings)}
		}
	}
	return job, nil
}

// mostListed is how many entries a list of a job record may have, besides those
// of coordinates.
const mostListed = 200_000

// findLongList looks for a list that would take more memory than any job needs.
// Text that is no JSON passes: it is refused anyway.
func findLongList(text []byte) error {
	const deepest = 10_000 // as encoding/json has it
	j := walkFrom(&reading{src: newSource(text), lim: Limits{Depth: deepest}}, 0, 0)
	var long error
	var value func() error
	value = func() error {
		switch j.peek() {
		case '{':
			return j.object(func(key string, _ int64) error {
				if key == "coordinates" {
					return j.skip()
				}
				return value()
			})
		case '[':
			entries := 0
			return j.list("", func() error {
				if entries++; entries > mostListed {
					long = j.fault(int64(j.at), "the job record is damaged: a list has more than %d entries", mostListed)
					return long
				}
				return value()
			})
		}
		return j.skip()
	}
	_ = value() // reading tells of other faults
	return long
}

// ReadShape reads a GeoJSON geometry of polygons with closed rings, in degrees.
// They come back whole where they were cut at the antimeridian. An error is a
// *ReadError with the place in the shape.
func ReadShape(geometry []byte, lim Limits) (orb.MultiPolygon, error) {
	polygons, err := jobShape(geometry, lim, false)
	return FromGlobe(polygons), err
}

// jobShape reads the geometry of a feature; lines are taken as rings when they may be.
func jobShape(geometry []byte, lim Limits, lines bool) (orb.MultiPolygon, error) {
	polygons, err := geometryPolygons(geometry, lim, lines)
	if err == nil && tangled(polygons, lim.Crossings) {
		err = &ReadError{Text: tangledText(lim.Crossings)}
	}
	return polygons, err
}

func geometryPolygons(geometry []byte, lim Limits, lines bool) (orb.MultiPolygon, error) {
	r := &reading{src: newSource(geometry), lim: lim}
	var shape struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	}
	if err := json.Unmarshal(geometry, &shape); err != nil {
		return nil, &ReadError{Text: "the geometry is damaged"}
	}
	if shape.Type == "MultiLineString" && lines {
		r.src = newSource(shape.Coordinates)
		j := walkFrom(r, 0, 0)
		var rings orb.Polygon
		err := j.list("a list of rings", func() error {
			j.ring++
			ring, err := j.positions(false)
			rings = append(rings, ring)
			return err
		})
		return orb.MultiPolygon{rings}, withinShape(err)
	}
	if err := walkFrom(r, 0, 0).geometry(); err != nil {
		return nil, withinShape(err)
	}
	if r.paths.count+r.points.count > 0 {
		return nil, &ReadError{Text: "its shape is not a polygon"}
	}
	var polygons orb.MultiPolygon
	for _, part := range r.parts {
		for k, ring := range part.Polygon {
			if !lines && !isClosed(ring) {
				return nil, &ReadError{finding.Place{Part: part.Place.Part, Ring: k + 1}, "the ring is not closed"}
			}
		}
		polygons = append(polygons, part.Polygon)
	}
	return polygons, nil
}

// inRecord places a fault of a geometry in the record's n-th feature.
func inRecord(n int, err error) error {
	var fault *ReadError
	if !errors.As(err, &fault) {
		return err
	}
	p := fault.Place
	p.Feature = n
	return &ReadError{p, "the job record is damaged: " + fault.Text}
}

// withinShape leaves out the line and column, which are counted from where the
// shape begins.
func withinShape(err error) error {
	var fault *ReadError
	if !errors.As(err, &fault) {
		return err
	}
	p := fault.Place
	return &ReadError{finding.Place{Part: p.Part, Ring: p.Ring, Vertex: p.Vertex}, fault.Text}
}

func jobFault(text []byte, err error) error {
	at := int64(-1)
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		at = syntax.Offset
	case errors.As(err, &kind):
		at = kind.Offset
	}
	fault := &ReadError{Text: "the job record is damaged: " + printable(err.Error(), 120)}
	if at >= 0 {
		fault.Place.Line, fault.Place.Column = newSource(text).position(at)
	}
	return fault
}
