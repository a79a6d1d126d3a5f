package photo

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
)

const (
	packetStart = `<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">`
	packetEnd   = `</rdf:RDF></x:xmpmeta><?xpacket end="w"?>`
	// The form of a coordinate: XMP specification part 2, section 1.2.7.4; section number from memory.
	located = packetStart + `<rdf:Description rdf:about="" xmlns:exif="http://ns.adobe.com/exif/1.0/" xmlns:pose="http://example.org/pose/"` +
		` exif:GPSLatitude="40,26,46N" exif:GPSLongitude="79,58.9333333W" pose:CameraYaw="-90.5"/>` + packetEnd
)

func deflated(packet string) []byte {
	var out bytes.Buffer
	out.WriteString(pngPacket + "\x01\x00en\x00\x00")
	z := zlib.NewWriter(&out)
	io.WriteString(z, packet)
	z.Close()
	return out.Bytes()
}

// described is a packet with one description.
func described(attributes, elements string) string {
	return packetStart + `<rdf:Description xmlns:pose="http://example.org/pose/" xmlns:other="http://example.org/other/" ` + attributes + ">" +
		elements + "</rdf:Description>" + packetEnd
}

// readNamed reads a located photo with a packet.
func readNamed(t *testing.T, packet string, names Names) Photo {
	t.Helper()
	b := bothOrders["big-endian"]
	data := jpegOf(exifSegment(b.tiff(fields{gps: append(b.pittsburgh(), b.text(0x10, "T"), b.fractions(0x11, 90, 1))})),
		segment(0xE1, []byte(xmpHeader+packet)))
	p, err := Read("a.jpg", bytes.NewReader(data), int64(len(data)), names)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestNamedProperties(t *testing.T) {
	all := Names{Height: "RelativeHeight", Altitude: "pose:BarometerAltitude", Yaw: "CameraYaw", Pitch: "CameraPitch", Roll: "CameraRoll", PositionError: "Deviation"}
	const attributes = `pose:RelativeHeight="+80.25" pose:BarometerAltitude="412.5" pose:CameraYaw="-90.5" pose:CameraPitch='-89.9' pose:CameraRoll="+0.0" pose:Deviation="0.02"`
	const elements = `<pose:RelativeHeight>+80.25</pose:RelativeHeight><pose:BarometerAltitude> 412.5 </pose:BarometerAltitude>
		<pose:CameraYaw>-90.5</pose:CameraYaw><pose:CameraPitch>-89.9</pose:CameraPitch><pose:CameraRoll>+0.0</pose:CameraRoll><pose:Deviation>2/100</pose:Deviation>`
	for name, packet := range map[string]string{"attributes": described(attributes, ""), "elements": described("", elements),
		"other prefix of RDF": strings.NewReplacer("xmlns:rdf", "xmlns:r", "rdf:", "r:").Replace(described(attributes, "")),
		"no xmpmeta":          strings.NewReplacer(`<x:xmpmeta xmlns:x="adobe:ns:meta/">`, "", `</x:xmpmeta>`, "").Replace(described(attributes, "")),
		"comment, old header": "<!-- a > b --><?adobe-xap-filters esc=\"CR\"?>" + described(attributes, "<!-- pose:CameraYaw=\"1\" -->"),
		"two descriptions":    strings.Replace(described(attributes, ""), "<rdf:Description", `<rdf:Description rdf:about=""/><rdf:Description`, 1)} {
		t.Run(name, func(t *testing.T) {
			p := readNamed(t, packet, all)
			if p.Height != 80.25 || p.Altitude != 412.5 || p.AltitudeDatum != UnknownDatum || p.Yaw != 269.5 || p.Pitch != -89.9 || p.Roll != 0 || p.PositionError != 0.02 {
				t.Errorf("%+v", p)
			}
			if want := (Sources{Exif, XMP, XMP, XMP, XMP, XMP, Unsaid, XMP}); p.Sources != want {
				t.Errorf("sources %+v", p.Sources)
			}
			if p := readNamed(t, packet, nil); p.Yaw != 90 || p.Sources.Yaw != Exif || !math.IsNaN(p.Height) {
				t.Errorf("without names %+v", p)
			}
		})
	}
}

func TestNamedPropertyMatching(t *testing.T) {
	yaw := func(name string) Names { return Names{Yaw: name} }
	const exif = 90 // what remains when the named property is of no use
	for _, c := range []struct {
		what, attributes, elements, name string
		want                             float64
	}{
		{"any case", `pose:CameraYaw="12"`, "", "POSE:CAMERAYAW", 12},
		{"another prefix", `pose:CameraYaw="12"`, "", "other:CameraYaw", exif},
		{"prefix tells apart", `pose:Yaw="12" other:Yaw="13"`, "", "other:Yaw", 13},
		{"ambiguous", `pose:Yaw="12" other:Yaw="13"`, "", "Yaw", exif},
		{"twice the same", `pose:Yaw="12" other:Yaw="12.0"`, "", "Yaw", 12},
		{"part of a name", `pose:YawReference="12"`, "", "Yaw", exif},
		{"not there", `pose:Roll="12"`, "", "Yaw", exif},
		{"unit behind", `pose:Yaw="12 deg"`, "", "Yaw", exif},
		{"empty", `pose:Yaw=""`, "", "Yaw", exif},
		{"infinite", `pose:Yaw="Inf"`, "", "Yaw", exif},
		{"not a number", `pose:Yaw="NaN"`, "", "Yaw", exif},
		{"hexadecimal", `pose:Yaw="0x10"`, "", "Yaw", exif},
		{"over 0", `pose:Yaw="12/0"`, "", "Yaw", exif},
		{"fraction", `pose:Yaw="25/2"`, "", "Yaw", 12.5},
		{"out of range", `pose:Yaw="361"`, "", "Yaw", exif},
		{"full circle", `pose:Yaw="-360"`, "", "Yaw", 0},
		{"entity", `pose:Yaw="&#49;2"`, "", "Yaw", exif},
		{"nested", "", `<other:Set rdf:parseType="Resource"><pose:Yaw>12</pose:Yaw></other:Set>`, "Yaw", exif},
		{"in a list", "", `<pose:Yaw><rdf:Seq><rdf:li>12</rdf:li></rdf:Seq></pose:Yaw>`, "Yaw", exif},
		{"CDATA", "", `<pose:Yaw><![CDATA[12]]></pose:Yaw>`, "Yaw", exif},
		{"empty element", "", `<pose:Yaw/>`, "Yaw", exif},
		{"document type", "", `<!DOCTYPE x [<!ENTITY a "12">]><pose:Yaw>12</pose:Yaw>`, "Yaw", exif},
		{"never closed", "", `<pose:Yaw>12</pose:Yaw><pose:Roll>`, "Yaw", exif},
		{"too deep", "", strings.Repeat("<pose:a>", 40) + strings.Repeat("</pose:a>", 40) + `<pose:Yaw>12</pose:Yaw>`, "Yaw", exif},
	} {
		t.Run(c.what, func(t *testing.T) {
			if p := readNamed(t, described(c.attributes, c.elements), yaw(c.name)); p.Yaw != c.want {
				t.Errorf("yaw %g, want %g", p.Yaw, c.want)
			}
		})
	}
}

// 40°26'46"N 79°58'56"W is 40.446111°, -79.982222°.
func TestPositionFromXMP(t *testing.T) {
	b := bothOrders["little-endian"]
	packet := []byte(located)
	for name, data := range map[string][]byte{
		"JPEG, no Exif":           jpegOf(segment(0xE1, []byte(xmpHeader+located))),
		"JPEG, Exif without":      jpegOf(exifSegment(b.tiff(fields{main: []rawField{b.short(0x0112, 1)}})), segment(0xE1, []byte(xmpHeader+located))),
		"JPEG, far into the file": jpegOf(exifSegment(b.tiff(fields{main: []rawField{b.short(0x0112, 1)}})), segment(0xE2, make([]byte, 65000)), segment(0xE1, []byte(xmpHeader+located))),
		"TIFF":                    b.tiff(fields{main: append(b.picture(40, 30), b.raw(tagXMP, typeByte, packet...))}),
		"DNG":                     b.dng(40, 30, fields{main: []rawField{b.raw(tagXMP, typeUndefined, packet...)}}),
		"HEIF":                    heifOf(40, 30, nil, located),
		"PNG":                     pngOf(40, 30, chunkOf("iTXt", []byte(pngPacket+"\x00\x00\x00\x00"+located))),
		"PNG, deflated":           pngOf(40, 30, chunkOf("iTXt", deflated(located))),
	} {
		t.Run(name, func(t *testing.T) {
			p := mustDecode(t, data)
			if !almost(p.Position.Lat(), 40.446111, 5e-7) || !almost(p.Position.Lon(), -79.982222, 5e-7) || p.Sources.Position != XMP {
				t.Errorf("position %v from %d", p.Position, p.Sources.Position)
			}
			if p.Camera.Columns != 40 || p.Camera.Rows != 30 {
				t.Errorf("%d × %d pixels", p.Camera.Columns, p.Camera.Rows)
			}
			list, err := Properties(bytes.NewReader(data), int64(len(data)))
			if err != nil || !slices.Equal(list, []Property{{"pose:CameraYaw", -90.5}}) {
				t.Errorf("properties %v, %v", list, err)
			}
		})
	}
}

func TestPositionFromXMPRefuses(t *testing.T) {
	for _, c := range []struct{ lat, lon, want string }{
		{"", "79,58.9W", "no Exif metadata"},
		{"40,26.7N", "", "no Exif metadata"},
		{"40,26.7", "79,58.9W", `latitude is unreadable: "40,26.7"`},
		{"40,26.7E", "79,58.9W", `latitude is unreadable: "40,26.7E"`},
		{"40.4N", "79,58.9W", `latitude is unreadable: "40.4N"`},
		{"40.5,26.7N", "79,58.9W", `latitude is unreadable: "40.5,26.7N"`},
		{"40,26,46,1N", "79,58.9W", `latitude is unreadable: "40,26,46,1N"`},
		{"-40,26.7N", "79,58.9W", "latitude is unreadable: -40 degrees, 26.7 minutes, 0 seconds"},
		{"91,0.0N", "79,58.9W", "latitude of 91 degrees is more than 90"},
		{"0,0.0N", "0,0.0W", "position is 0, 0: the receiver had no fix"},
	} {
		attributes := `xmlns:exif="http://ns.adobe.com/exif/1.0/"`
		if c.lat != "" {
			attributes += ` exif:GPSLatitude="` + c.lat + `"`
		}
		if c.lon != "" {
			attributes += ` exif:GPSLongitude="` + c.lon + `"`
		}
		p, err := decode(jpegOf(segment(0xE1, []byte(xmpHeader+described(attributes, "")))))
		if err == nil || err.Error() != c.want || !errors.Is(err, ErrUnlocated) || p.Located() || p.Camera.Columns != 40 {
			t.Errorf("%s %s: said %v, want %s; %v", c.lat, c.lon, err, c.want, p.Position)
		}
	}
}

func TestSuggest(t *testing.T) {
	list := []Property{
		{"pose:RelativeHeight", 80}, {"pose:BarometerAltitude", 400}, {"a:height_above_ground", 81}, {"a:GroundSpeed", 5},
		{"pose:CameraYawDegree", 12}, {"b:vehicleYaw", -13}, {"c:YAW", 14}, {"c:yawdegree", 15}, {"b:flyawayHeight", 2},
		{"pose:CameraPitch", -90}, {"pose:CameraRoll", 0}, {"pose:ControllerMode", 1}, {"pose:YawTicks", 70000},
	}
	want := map[Quantity][]Property{
		Height: {{"pose:RelativeHeight", 80}, {"a:height_above_ground", 81}},
		Yaw:    {{"pose:CameraYawDegree", 12}, {"b:vehicleYaw", -13}, {"c:YAW", 14}, {"c:yawdegree", 15}},
		Pitch:  {{"pose:CameraPitch", -90}},
		Roll:   {{"pose:CameraRoll", 0}},
	}
	if got := Suggest(list); !reflect.DeepEqual(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
}

// simpleProperties is what encoding/xml makes of a packet, the second opinion.
func simpleProperties(data []byte) (out []string, sound bool) {
	type level struct {
		name       xml.Name
		kind       levelKind
		text       string
		structured bool
	}
	d := xml.NewDecoder(bytes.NewReader(data))
	var levels []level
	for {
		token, err := d.Token()
		if err == io.EOF {
			return out, true
		}
		if err != nil {
			return out, false
		}
		var top *level
		if len(levels) > 0 {
			top = &levels[len(levels)-1]
		}
		switch x := token.(type) {
		case xml.StartElement:
			l := level{name: x.Name}
			isRDF := x.Name.Space == spaceRDF
			switch {
			case isRDF && x.Name.Local == "RDF":
				l.kind = rdf
			case isRDF && x.Name.Local == "Description" && top != nil && top.kind == rdf:
				l.kind = description
				for _, a := range x.Attr {
					if a.Name.Space != "" && a.Name.Space != "xmlns" && a.Name.Space != spaceRDF && a.Name.Space != "http://www.w3.org/XML/1998/namespace" {
						out = append(out, a.Name.Local+"="+strings.Trim(a.Value, " \t\r\n"))
					}
				}
			case top != nil && top.kind == description:
				l.kind = element
			}
			if top != nil {
				top.structured = true
			}
			levels = append(levels, l)
		case xml.EndElement:
			if top.kind == element && !top.structured {
				out = append(out, top.name.Local+"="+strings.Trim(top.text, " \t\r\n"))
			}
			levels = levels[:len(levels)-1]
		case xml.CharData:
			if top != nil {
				top.text += string(x)
			}
		case xml.Comment, xml.Directive, xml.ProcInst:
			if top != nil {
				top.structured = true
			}
		}
	}
}

// FuzzPacket holds the walk against encoding/xml: on every packet that both
// take as sound, and that has nothing in it that the walk passes on as it
// stands, they see the same properties.
func FuzzPacket(f *testing.F) {
	f.Add([]byte(located))
	f.Add([]byte(described(`pose:Yaw="1" other:Roll='2'`, "<pose:Pitch> 3 </pose:Pitch><pose:List><rdf:Seq><rdf:li>4</rdf:li></rdf:Seq></pose:List><pose:None/>")))
	f.Add([]byte(`<r:RDF xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><r:Description xmlns="a" xmlns:b='c' b:d="e"><f>g</f></r:Description></r:RDF>`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var p packet
		var ours []string
		sound := p.walk(data, func(q property) { ours = append(ours, string(q.local)+"="+string(q.value)) })
		if bytes.ContainsAny(data, "&\r") || bytes.Contains(data, []byte("<!")) || bytes.Contains(data, []byte("xmlns:xml")) {
			return
		}
		theirs, theirsSound := simpleProperties(data)
		if theirsSound && !sound && !tooMuch(data) {
			t.Errorf("encoding/xml takes what the walk refuses: %q", data)
		}
		if theirsSound && sound && !slices.Equal(ours, theirs) {
			t.Errorf("%q\nours   %q\ntheirs %q", data, ours, theirs)
		}
	})
}

// tooMuch tells what is beyond the bounds of the walk.
func tooMuch(data []byte) bool {
	return len(data) > mostPacket || bytes.Count(data, []byte("<")) > mostDepth || bytes.Count(data, []byte("xmlns")) > mostPrefixes
}
