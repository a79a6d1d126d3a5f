package crs

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/wroge/wgs84/v2"
)

// fromWKT makes a system of well-known text, version 1, in the dialect of .prj
// files or in that of OGC 01-009. Of version 2 only an EPSG code is taken.
func fromWKT(text string) (System, error) {
	root, err := parseWKT(text)
	if err != nil {
		return System{}, err
	}
	if root.keyword == "COMPD_CS" { // a plane with heights above it
		if root = root.child("PROJCS", "GEOGCS"); root == nil {
			return System{}, errWKT
		}
	}
	switch root.keyword {
	case "GEOGCS":
		return geographic(root)
	case "PROJCS":
		return projected(root)
	}
	if id := root.child("ID"); id.word() == "EPSG" && len(id.numbers) > 0 {
		return fromCode(int(id.numbers[0]))
	}
	return System{}, fmt.Errorf("the coordinate system %s is given as %s, which is not read here: please give its EPSG code, or a .prj file", quote(root.word()), root.keyword)
}

// geographic makes a system of a GEOGCS.
func geographic(n *node) (System, error) {
	d := n.child("DATUM")
	ellipsoid := d.child("SPHEROID", "ELLIPSOID")
	if ellipsoid == nil || len(ellipsoid.numbers) < 2 {
		return System{}, errWKT
	}
	datum, err := datumNamed(d.word())
	if err != nil {
		return System{}, err
	}
	s := System{name: readable(n.word()), datum: datum, unit: degrees, spheroid: wgs84.Spheroid{A: ellipsoid.numbers[0], Fi: ellipsoid.numbers[1]}}
	want := datum.spheroid()
	if math.Abs(s.spheroid.A-want.A) > 0.5 || math.Abs(s.spheroid.Fi-want.Fi) > 0.001 {
		return System{}, fmt.Errorf("the coordinate system %s puts the datum %s on an ellipsoid that is not its own", quote(s.name), datum.name)
	}
	if p := n.child("PRIMEM"); p != nil && (len(p.numbers) == 0 || p.numbers[0] != 0) {
		return System{}, fmt.Errorf("the coordinate system %s counts longitudes from %s, not from Greenwich, which is not read here: please send longitude and latitude on WGS 84", quote(s.name), quote(p.word()))
	}
	if u := n.child("UNIT"); u == nil || len(u.numbers) == 0 || math.Abs(u.numbers[0]*180/math.Pi-1) > 1e-7 {
		return System{}, fmt.Errorf("the coordinate system %s does not count angles in degrees, which is not read here: please send longitude and latitude on WGS 84", quote(s.name))
	}
	return s, nil
}

// projected makes a system of a PROJCS.
func projected(n *node) (System, error) {
	method := plain(n.child("PROJECTION").word())
	if isWebMercator(n, method) {
		return webMercator(n)
	}
	g := n.child("GEOGCS")
	if g == nil {
		return System{}, errWKT
	}
	s, err := geographic(g)
	if err != nil {
		return System{}, err
	}
	s.name = readable(n.word())
	if s.unit, err = lengthUnit(n.child("UNIT")); err != nil {
		return System{}, fmt.Errorf("the coordinate system %s %w", quote(s.name), err)
	}
	for _, axis := range n.children {
		if axis.keyword != "AXIS" || len(axis.words) < 2 {
			continue
		}
		if way := strings.ToUpper(axis.words[1]); way == "WEST" || way == "SOUTH" {
			return System{}, fmt.Errorf("the coordinate system %s counts towards the %s, which is not read here: please send longitude and latitude on WGS 84", quote(s.name), strings.ToLower(way))
		}
	}
	figures := parameters{n: n}
	p := projection{
		lat0:     figures.want("latitudeoforigin", "latitudeofnaturalorigin", "latitudeoffalseorigin", "latitudeofcenter"),
		lon0:     figures.want("centralmeridian", "longitudeofnaturalorigin", "longitudeoforigin", "longitudeoffalseorigin", "longitudeofcenter"),
		easting:  figures.want("falseeasting") * s.unit.metres,
		northing: figures.want("falsenorthing") * s.unit.metres,
	}
	switch method {
	case "transversemercator", "gausskruger":
		p.method = transverseMercator
		p.scale = figures.want("scalefactor")
	case "lambertconformalconic", "lambertconformalconic1sp", "lambertconformalconic2sp":
		figures.lambert(&p)
	default:
		return System{}, fmt.Errorf("the coordinate system %s is in the projection %s, which is not read here: please send longitude and latitude on WGS 84", quote(s.name), quote(n.child("PROJECTION").word()))
	}
	if figures.err == nil {
		figures.rest()
	}
	if figures.err == nil {
		s, figures.err = s.onto(p)
	}
	if figures.err != nil {
		return System{}, fmt.Errorf("the coordinate system %s cannot be used: %w", quote(n.word()), figures.err)
	}
	return s, nil
}

// parameters hands out the PARAMETERs of a PROJCS and keeps the first error.
type parameters struct {
	n    *node
	used []*node
	err  error
}

// get finds a parameter by any of its names.
func (p *parameters) get(names ...string) (float64, bool) {
	for _, c := range p.n.children {
		if c.keyword == "PARAMETER" && len(c.numbers) == 1 && matches(plain(c.word()), names) {
			p.used = append(p.used, c)
			return c.numbers[0], true
		}
	}
	return 0, false
}

func (p *parameters) want(names ...string) float64 {
	x, ok := p.get(names...)
	if !ok && p.err == nil {
		p.err = fmt.Errorf("its projection gives no %s", wording[names[0]])
	}
	return x
}

var wording = map[string]string{
	"latitudeoforigin":  "latitude of origin",
	"centralmeridian":   "central meridian",
	"falseeasting":      "false easting",
	"falsenorthing":     "false northing",
	"scalefactor":       "scale factor",
	"standardparallel1": "standard parallel",
}

// lambert tells a cone of one standard parallel from one of two: some files
// name both Lambert_Conformal_Conic.
func (p *parameters) lambert(to *projection) {
	scale, scaled := p.get("scalefactor")
	sp1, one := p.get("standardparallel1")
	sp2, two := p.get("standardparallel2")
	to.method, to.scale, to.sp1, to.sp2 = lambert2, 1, sp1, sp2
	switch {
	case one && two && scaled && scale != 1:
		p.err = errors.New("its projection gives two standard parallels and a scale factor as well")
	case one && two:
	case one && sp1 != to.lat0 && (!scaled || scale == 1):
		to.sp2 = sp1
	case one && sp1 != to.lat0:
		p.err = errors.New("its projection gives a standard parallel apart from the latitude of origin and a scale factor as well")
	case two || !scaled:
		p.want("standardparallel1")
	default:
		to.method, to.scale, to.sp1, to.sp2 = lambert1, scale, 0, 0
	}
}

// rest refuses what has not been used: it would mean another projection.
func (p *parameters) rest() {
	for _, c := range p.n.children {
		if c.keyword != "PARAMETER" {
			continue
		}
		used := len(c.numbers) == 1 && c.numbers[0] == 0
		for _, u := range p.used {
			used = used || u == c
		}
		if !used {
			p.err = fmt.Errorf("its projection gives %s, which is not used in this projection", quote(c.word()))
			return
		}
	}
}

// lengthUnit takes the factor, and the name only where it contradicts. Its
// errors continue a sentence about the system.
func lengthUnit(n *node) (unit, error) {
	if n == nil || len(n.numbers) == 0 {
		return unit{}, errors.New("does not say in what unit it counts")
	}
	for _, u := range []unit{metre, foot, usSurveyFoot} {
		if math.Abs(n.numbers[0]/u.metres-1) > 1e-8 {
			continue
		}
		name := strings.ToLower(n.word())
		if u == foot && (strings.Contains(name, "us") || strings.Contains(name, "survey")) {
			return unit{}, fmt.Errorf("names the unit %s but gives the length of the international foot: please ask which foot is meant", quote(n.word()))
		}
		return u, nil
	}
	return unit{}, fmt.Errorf("counts in %s of %g m; metres, international feet and US survey feet are read", quote(n.word()), n.numbers[0])
}

// isWebMercator knows the projection of web maps by its own names, and where
// it is described as an ordinary Mercator projection by the system's name or
// by the sphere it is reckoned on.
func isWebMercator(n *node, method string) bool {
	switch method {
	case "mercatorauxiliarysphere", "popularvisualisationpseudomercator":
		return true
	case "mercator", "mercator1sp":
		name := plain(n.word())
		return strings.HasSuffix(name, "webmercator") || strings.HasSuffix(name, "pseudomercator") ||
			strings.HasSuffix(name, "webmercatorauxiliarysphere") ||
			strings.Contains(strings.Join(n.child("EXTENSION").text(), " "), "+a=6378137 +b=6378137 ")
	}
	return false
}

func (n *node) text() []string {
	if n == nil {
		return nil
	}
	return n.words
}

// webMercator makes a system of a PROJCS in the projection of web maps, which
// has no parameters of its own.
func webMercator(n *node) (System, error) {
	u, err := lengthUnit(n.child("UNIT"))
	ellipsoid := n.child("GEOGCS").child("DATUM").child("SPHEROID", "ELLIPSOID")
	plain := err == nil && u == metre && ellipsoid != nil && len(ellipsoid.numbers) > 0 && ellipsoid.numbers[0] == 6378137
	for _, c := range n.children {
		if c.keyword == "PARAMETER" && len(c.numbers) == 1 && c.numbers[0] != 0 {
			plain = plain && c.numbers[0] == 1 && strings.EqualFold(c.word(), "scale_factor")
		}
	}
	if !plain {
		return System{}, fmt.Errorf("the coordinate system %s is not the usual Web Mercator of metres on WGS 84: please send longitude and latitude on WGS 84", quote(n.word()))
	}
	s, err := fromCode(3857)
	s.name = readable(n.word())
	return s, err
}
