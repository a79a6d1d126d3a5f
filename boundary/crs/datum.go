package crs

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/wroge/wgs84/v2"

	"selvage/boundary/finding"
)

// datum is a geodetic datum and what becomes of it.
type datum struct {
	name  string
	apart float64 // metres that it lies from WGS 84, where it is taken as WGS 84
	shift *shift  // nil where it is taken as WGS 84
}

func (d datum) spheroid() wgs84.Spheroid {
	switch {
	case d.shift != nil:
		return d.shift.from
	case d.apart > 0:
		return wgs84.GRS80
	}
	return wgs84.WGS84.Spheroid
}

// shift is a seven-parameter transformation with the accuracy, in metres,
// that the EPSG dataset gives it.
type shift struct {
	from     wgs84.Spheroid
	helmert  wgs84.Helmert
	within   wgs84.BoundingBox
	area     string
	accuracy float64
}

func (d datum) caveat() finding.Text {
	switch {
	case d.shift != nil:
		return finding.Say("%s is brought to WGS 84 by a shift that is good to about %s.", d.name, finding.Stated(d.shift.accuracy))
	case d.name == "NAD83" || d.name == "ETRS89":
		return finding.Say("NAD83 and ETRS89 differ from WGS 84 by up to about 1–%s.", finding.Stated(2))
	case d.apart > 0:
		return finding.Say("%s differs from WGS 84 by up to about %s.", d.name, finding.Stated(d.apart))
	}
	return finding.Text{}
}

// known lists datums by the ways their names are written, in the form that
// plain gives them; a star stands for any ending. The amounts by which those
// taken as WGS 84 differ from it are common knowledge, without one source.
var known = []struct {
	datum
	names []string
}{
	{datum{name: "WGS 84"}, []string{"wgs84", "wgs1984*", "worldgeodeticsystem1984*"}},
	{datum{name: "NAD83", apart: 2}, []string{"nad83*", "nad1983*", "northamerican1983*", "northamericandatum1983*", "northamericandatumof1983*"}},
	{datum{name: "ETRS89", apart: 1}, []string{"etrs89*", "etrs1989*", "etrf*", "europeanterrestrialreferencesystem1989*",
		"sweref99", "rgf93*", "rgf1993*", "reseaugeodesiquefrancais1993*", "irenet95", "ireneteuref89"}},
	{datum{name: "GDA94", apart: 2}, []string{"gda94", "gda1994", "geocentricdatumofaustralia1994"}},
	{datum{name: "GDA2020", apart: 1}, []string{"gda2020", "geocentricdatumofaustralia2020"}},
	{datum{name: "NZGD2000", apart: 2}, []string{"nzgd2000", "newzealandgeodeticdatum2000"}},
	{datum{name: "SIRGAS 2000", apart: 1}, []string{"sirgas2000", "sistemadereferenciageocentricoparalasamericas2000"}},
	{shifted("OSGB36", wgs84.OSGB36, 2, "Great Britain"), // EPSG 1314
		[]string{"osgb36", "osgb1936", "ordnancesurveyofgreatbritain1936"}},
	{shifted("TM65", wgs84.TM65, 1, "Ireland"), []string{"tm65"}},                                         // EPSG 1641
	{shifted("TM75", wgs84.TM75, 1, "Ireland"), []string{"tm75", "geodeticdatumof1965"}},                  // EPSG 1954
	{shifted("DHDN", wgs84.DHDN90, 3, "western Germany"), []string{"dhdn", "deutscheshauptdreiecksnetz"}}, // EPSG 1777
	{shifted("MGI", wgs84.MGI, 1.5, "Austria"), // EPSG 1618
		[]string{"mgi", "militargeographischeinstitut", "militargeographischeinstitute"}},
	{shifted("BD72", wgs84.BD72, 1, "Belgium"), // EPSG 15929
		[]string{"bd72", "belge1972", "reseaunationalbelge1972"}},
}

// far tells how far other datums lie from WGS 84 (common knowledge).
var far = []struct {
	name, apart string
	names       []string
}{
	{"NAD27", "10 to over 100 m", []string{"nad27*", "nad1927*", "northamerican1927*", "northamericandatum1927*"}},
	{"ED50", "100 to 200 m", []string{"ed50", "european1950*", "europeandatum1950*"}},
	{"Pulkovo 1942", "100 to 150 m", []string{"pulkovo1942*"}},
	{"Tokyo Datum", "400 to 700 m", []string{"tokyo*"}},
	{"Australian Geodetic Datum", "about 200 m", []string{"agd66", "agd84", "australian1966", "australian1984", "australiangeodeticdatum*"}},
	{"New Zealand Geodetic Datum 1949", "about 200 m", []string{"nzgd49", "nzgd1949", "newzealand1949", "newzealandgeodeticdatum1949"}},
}

// shifted is a datum with the library's transformation over the whole area,
// without grid files, so that no parcel is torn between two of them.
func shifted(name string, d wgs84.Datum, accuracy float64, area string) datum {
	for _, t := range d.Transformations {
		if t.Grid == "" && (t.Accuracy == accuracy || len(d.Transformations) == 1) {
			return datum{name: name, shift: &shift{d.Spheroid, t.Helmert, t.BoundingBox, area, accuracy}}
		}
	}
	panic("crs: no shift for " + name)
}

// datumNamed finds a datum by its name in any common spelling.
func datumNamed(name string) (datum, error) {
	spelt := strings.TrimPrefix(name, "D_")
	for _, k := range known {
		if matches(plain(spelt), k.names) {
			return k.datum, nil
		}
	}
	for _, f := range far {
		if matches(plain(spelt), f.names) {
			return datum{}, fmt.Errorf("%s lies %s from WGS 84 and needs a datum shift that this tool does not have: please send longitude and latitude on WGS 84", f.name, f.apart)
		}
	}
	return datum{}, fmt.Errorf("the datum %s is not one that this tool can bring to WGS 84: please send longitude and latitude on WGS 84", quote(spelt))
}

func matches(name string, patterns []string) bool {
	for _, p := range patterns {
		if stem, open := strings.CutSuffix(p, "*"); name == stem || open && strings.HasPrefix(name, stem) {
			return true
		}
	}
	return false
}

// plain is a name in lower case with nothing but letters and digits.
func plain(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, name)
}

// quote puts s in quotation marks, on one line and not too long.
func quote(s string) string { return "“" + readable(s) + "”" }

// readable is s on one line and not too long, without what cannot be shown.
func readable(s string) string {
	letters := []rune(strings.Join(strings.Fields(s), " "))
	if len(letters) > 60 {
		letters = append(letters[:59], '…')
	}
	for i, r := range letters {
		if !unicode.IsPrint(r) {
			letters[i] = '\ufffd'
		}
	}
	return string(letters)
}
