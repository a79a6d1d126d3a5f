package boundary

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"path"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// Figures of the ESRI Shapefile Technical Description, July 1998: a header of
// 100 bytes, then records with a header of 8 bytes each. Numbers that manage
// the file are big-endian, lengths count 16-bit words, all else is
// little-endian.
const (
	shapefileMagic  = "\x00\x00\x27\x0a"
	shapefileHeader = 100
	recordHeader    = 8
)

// shapeKind is a type of shape without the figure that tells of heights or
// measures: 5, 15 and 25 are all polygons.
type shapeKind int

const (
	nullShape  shapeKind = 0
	pointShape shapeKind = 1
	lineShape  shapeKind = 3
	areaShape  shapeKind = 5
	cloudShape shapeKind = 8 // a multipoint
)

// kindOf tells the kind of a type, and whether it has heights.
func kindOf(number uint32) (kind shapeKind, heights, known bool) {
	kind = shapeKind(number % 10)
	switch {
	case number == 0:
		return nullShape, false, true
	case number < 30 && (kind == pointShape || kind == lineShape || kind == areaShape || kind == cloudShape):
		return kind, number/10 == 1, true
	}
	return 0, false, false
}

func isShapefile(data []byte) bool { return bytes.HasPrefix(data, []byte(shapefileMagic)) }

// readZip reads an archive: a KMZ, or a shapefile with what belongs to it.
func readZip(name string, data []byte, o Options) (*reading, string, error) {
	if archive, err := openArchive(data); err == nil {
		shapes := members(archive, ".shp")
		if len(shapes) > 0 && len(members(archive, ".kml"))+len(members(archive, ".kmz")) == 0 {
			return readZippedShapefile(name, archive, shapes, o)
		}
	}
	return readKMZ(name, data, o)
}

// members are the files of an archive with an extension, in its order.
func members(archive *zip.Reader, extension string) []*zip.File {
	var all []*zip.File
	for _, f := range archive.File {
		if hasExtension(f.Name, extension) {
			all = append(all, f)
		}
	}
	return all
}

// readZippedShapefile reads the first of the shapefiles that holds polygons,
// or else the first.
func readZippedShapefile(name string, archive *zip.Reader, shapes []*zip.File, o Options) (*reading, string, error) {
	fail := func(format string, args ...any) (*reading, string, error) {
		return nil, "", &ReadError{finding.Place{File: name}, fmt.Sprintf(format, args...)}
	}
	main := shapes[0]
	for _, f := range shapes {
		if holdsPolygons(f) {
			main = f
			break
		}
	}
	take := func(f *zip.File) ([]byte, error) {
		data, err := unzip(f, o.Limits)
		o.Limits.UnzippedBytes -= int64(len(data))
		return data, err
	}
	data, err := take(main)
	if err != nil {
		return fail("%s in the archive %v", quote(main.Name), err)
	}
	if !isShapefile(data) {
		return fail("%s in the archive is not a shapefile, whatever its name says", quote(main.Name))
	}
	stem := strings.TrimSuffix(main.Name, path.Ext(main.Name))
	o.Beside = map[string][]byte{}
	for _, extension := range []string{".prj", ".dbf", ".cpg"} {
		for _, f := range members(archive, extension) {
			if strings.EqualFold(strings.TrimSuffix(f.Name, path.Ext(f.Name)), stem) {
				if o.Beside[extension], err = take(f); err != nil {
					return fail("%s in the archive %v", quote(f.Name), err)
				}
				break
			}
		}
	}
	inner := printable(main.Name, 80)
	r, _, err := readShapefile(name+"/"+inner, data, o)
	if err != nil {
		return nil, "", err
	}
	if len(shapes) > 1 {
		var others []string
		for _, f := range shapes {
			if f != main {
				others = append(others, f.Name)
			}
		}
		r.notes = append(r.notes, finding.Finding{
			Code: finding.SeveralShapefiles, Severity: finding.NeedsAnswer, Place: finding.Place{File: name},
			Text: finding.Sentences(finding.Say("The archive holds %s shapefiles. Only %s is read; left unread: %s.",
				finding.Whole(len(shapes)), quote(main.Name), names(others)), askComplete),
			Amount: float64(len(shapes)), Unit: "files",
		})
	}
	return r, "zipped shapefile (" + inner + ")", nil
}

func holdsPolygons(f *zip.File) bool {
	r, err := f.Open()
	if err != nil {
		return false
	}
	defer r.Close()
	var head [36]byte
	if n, _ := r.Read(head[:]); n < len(head) || !isShapefile(head[:]) {
		return false
	}
	kind, _, known := kindOf(binary.LittleEndian.Uint32(head[32:]))
	return known && kind == areaShape
}

// shapefile walks through the records of a .shp file.
type shapefile struct {
	*reading
	budget int // steps left for finding out which hole lies in which outline
}

// readShapefile reads a .shp file, with the .prj, .dbf and .cpg beside it.
// Every record is a feature.
func readShapefile(name string, data []byte, o Options) (*reading, string, error) {
	s := &shapefile{reading: &reading{file: name, src: &source{}, lim: o.Limits, keep: o.ClosePath || o.points, rows: o.points}, budget: 100_000_000}
	if len(data) < shapefileHeader {
		return nil, "", s.fault(0, "the shapefile ends within its header; it may be cut off")
	}
	length := 2 * int64(binary.BigEndian.Uint32(data[24:]))
	switch {
	case length < shapefileHeader:
		return nil, "", s.fault(0, "the shapefile's header is damaged")
	case length > int64(len(data)):
		return nil, "", s.fault(0, "the shapefile has %d bytes, but its header promises %d; it may be cut off", len(data), length)
	case len(bytes.Trim(data[length:], "\x00")) > 0:
		return nil, "", s.fault(0, "the shapefile goes on behind the end that its header gives; it may be damaged")
	}
	number := binary.LittleEndian.Uint32(data[32:])
	if _, _, known := kindOf(number); !known {
		if number == 31 {
			return nil, "", s.fault(0, "this shapefile holds surfaces in space (multipatches); ask for the area as a polygon")
		}
		return nil, "", s.fault(0, "this shapefile holds shapes of the unknown type %d", number)
	}
	table := s.table(o.Beside[".dbf"], o.Beside[".cpg"])
	for rest := data[shapefileHeader:length]; len(rest) > 0; {
		s.beginFeature()
		if len(rest) < recordHeader {
			return nil, "", s.fault(0, "the record is cut off")
		}
		size := 2 * int64(binary.BigEndian.Uint32(rest[4:]))
		if rest = rest[recordHeader:]; size > int64(len(rest)) {
			return nil, "", s.fault(0, "the record reaches beyond the end of the file; it may be damaged")
		}
		if err := s.record(rest[:size]); err != nil {
			return nil, "", err
		}
		rest = rest[size:]
		var of attributes
		if s.feature <= len(table) {
			of = table[s.feature-1]
		}
		if x, isNumber := decimal([]byte(of.buffer)); !isNumber || x != 0 { // a number's column has no other way to be empty
			s.addBuffer(0, of.buffer)
		}
		s.endFeature(0, of.name)
	}
	if len(table) > 0 && len(table) != s.feature {
		text := finding.Say("The .dbf tells of %s features, but the shapefile has %s, so that names may be those of others.",
			finding.Whole(len(table)), finding.Whole(s.feature))
		if len(s.buffers) > 0 {
			text = finding.Sentences(text, finding.Say("Their buffers are not used."))
			s.buffers = nil
		}
		s.leaveNames(text)
	}
	s.feature = 0
	if err := s.reference(o); err != nil {
		return nil, "", err
	}
	return s.reading, "shapefile", nil
}

// reference notes the coordinate system of the .prj. Without one the numbers
// are a question: they may be longitudes and latitudes, or else cannot be used.
func (s *shapefile) reference(o Options) error {
	prj := string(bytes.TrimSpace(bytes.TrimPrefix(o.Beside[".prj"], []byte("\xef\xbb\xbf"))))
	beyond, found := s.beyondDegrees()
	ask := func(code finding.Code, text finding.Text) {
		s.notes = append(s.notes, finding.Finding{Code: code, Severity: finding.NeedsAnswer, Place: finding.Place{File: s.file}, Text: text})
	}
	switch {
	case prj != "":
		if !found && len(s.parts) > 0 && o.CRS == "" && inPlane(prj) {
			ask(finding.LooksGeographic, finding.Tell(
				finding.Say("By the .prj file the numbers are eastings and northings, but all of them could be longitudes and latitudes. They are read as the .prj says: ask the client whether it belongs to this shapefile."),
				finding.Say("By the .prj file the numbers are eastings and northings, but all of them could be longitudes and latitudes. They are read as the .prj says: please say whether it belongs to this shapefile.")))
		}
		return s.addSystem(0, prj)
	case o.CRS != "" || len(s.parts)+s.paths.count == 0:
	case found:
		return s.fault(0, "the .prj file is missing, and numbers such as %.10g, %.10g are no longitude and latitude, but perhaps %s. Please ask for the .prj file, or name the coordinate system (--crs)",
			beyond[0], beyond[1], finding.Or(likelySystems(beyond)))
	default:
		ask(finding.NoCRS, finding.Say("The .prj file is missing, so the shapefile does not say in which coordinate system its numbers are. They are taken as longitude and latitude on WGS 84: please confirm."))
	}
	return nil
}

// beyondDegrees finds a vertex that is no longitude and latitude.
func (s *shapefile) beyondDegrees() (orb.Point, bool) {
	for _, part := range s.parts {
		for _, ring := range part.Polygon {
			for _, v := range ring {
				if math.Abs(v[0]) > 180 || math.Abs(v[1]) > 90 {
					return v, true
				}
			}
		}
	}
	return orb.Point{}, false
}

// record reads the content of one record.
func (s *shapefile) record(data []byte) error {
	if len(data) < 4 {
		return s.damaged()
	}
	number := binary.LittleEndian.Uint32(data)
	kind, heights, known := kindOf(number)
	if !known {
		return s.fault(0, "the record holds a shape of the type %d, which is not read here", number)
	}
	data = data[4:]
	switch kind {
	case pointShape:
		if len(data) < 16 {
			return s.damaged()
		}
		return s.points(vertices(data[:16]))
	case cloudShape:
		if len(data) < 36 {
			return s.damaged()
		}
		count := int64(binary.LittleEndian.Uint32(data[32:]))
		if data = data[36:]; count*16 > int64(len(data)) {
			return s.damaged()
		}
		return s.points(vertices(data[:count*16]))
	case lineShape, areaShape:
		return s.rings(data, kind, heights)
	}
	return nil
}

func (s *shapefile) damaged() error {
	return s.fault(0, "the record is damaged: its counts and its length do not agree")
}

// vertices reads pairs of numbers.
func vertices(data []byte) orb.Ring {
	ring := make(orb.Ring, len(data)/16)
	for i := range ring {
		ring[i] = orb.Point{double(data[16*i:]), double(data[16*i+8:])}
	}
	return ring
}

func double(data []byte) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(data)) }

func (s *shapefile) points(all orb.Ring) error {
	if err := s.check(all); err != nil {
		return err
	}
	for _, p := range all {
		s.addPoint(s.place(0), p)
	}
	return nil
}

// check spends for vertices and refuses those that are no numbers.
func (s *shapefile) check(ring orb.Ring) error {
	defer func() { s.vertex = 0 }()
	for i, v := range ring {
		s.vertex = i + 1
		if !s.spend() {
			return s.overspent(0)
		}
		if !finitePoint(v) {
			return s.fault(0, "the vertex is not a pair of numbers")
		}
	}
	return nil
}

func finitePoint(p orb.Point) bool { return p[0]-p[0] == 0 && p[1]-p[1] == 0 }

// rings reads a record of lines or polygons: a box, the numbers of parts and
// points, where in the points each part begins, the points and, with heights,
// their range and one for each point.
func (s *shapefile) rings(data []byte, kind shapeKind, heights bool) error {
	if len(data) < 40 {
		return s.damaged()
	}
	parts, points := int64(binary.LittleEndian.Uint32(data[32:])), int64(binary.LittleEndian.Uint32(data[36:]))
	need := 4*parts + 16*points
	if heights {
		need += 16 + 8*points
	}
	if data = data[40:]; need > int64(len(data)) {
		return s.damaged()
	}
	starts, data := data[:4*parts], data[4*parts:]
	begin := func(i int64) int64 {
		if i == parts {
			return points
		}
		return int64(binary.LittleEndian.Uint32(starts[4*i:]))
	}
	if parts == 0 && points > 0 || parts > 0 && begin(0) != 0 {
		return s.damaged()
	}
	var rings []orb.Ring
	for i := range parts {
		s.ring = int(i) + 1
		from, to := begin(i), begin(i+1)
		if from > to || to > points {
			return s.damaged()
		}
		if !s.spend() {
			return s.overspent(0)
		}
		ring := vertices(data[16*from : 16*to])
		if err := s.check(ring); err != nil {
			return err
		}
		rings = append(rings, ring)
	}
	s.ring = 0
	if kind == lineShape {
		for _, ring := range rings {
			s.addPath(s.place(0), ring)
		}
		return nil
	}
	if heights {
		for z := data[16*points+16:][:8*points]; len(z) > 0; z = z[8:] {
			if height := double(z); height-height == 0 {
				s.heights.add(height)
			}
		}
	}
	return s.polygons(rings)
}
