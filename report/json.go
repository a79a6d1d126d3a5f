package report

import (
	"encoding/json"
	"io"
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/coverage"
)

// rounded writes itself with a fixed number of decimals at most, and as null
// when it is not a finite number.
type rounded struct {
	value    float64
	decimals int
}

func (r rounded) MarshalJSON() ([]byte, error) {
	if !finite(r.value) {
		return []byte("null"), nil
	}
	return []byte(trimmed(r.value, r.decimals)), nil
}

// trimmed is x without trailing zeros and without an exponent.
func trimmed(x float64, decimals int) string { return string(finding.Rounded(x, decimals)) }

func squareMetres(x float64) rounded { return rounded{x, 2} }
func metres(x float64) rounded       { return rounded{x, 3} }
func millimetres(m float64) rounded  { return rounded{m * 1000, 3} }
func share(x float64) rounded        { return rounded{x, 6} }
func longitude(p orb.Point) rounded  { return rounded{wrap(p.Lon()), 8} }
func latitude(p orb.Point) rounded   { return rounded{p.Lat(), 8} }

type auditJSON struct {
	basisJSON
	Letterhead *LetterheadJSON `json:"letterhead"` // null without one
	SiteArea   rounded         `json:"site_area_m2"`
	Photos     photosJSON      `json:"photos"`
	Totals     totalsJSON      `json:"totals"`
	Zones      []zoneJSON      `json:"zones"`
	Edge       edgeJSON        `json:"edge"`
	Overlap    overlapJSON     `json:"overlap"`
	GSD        gsdBinsJSON     `json:"gsd_mm"`
	Refly      []reflyJSON     `json:"refly"`
	ReflyPlan  *reflyPlanJSON  `json:"refly_plan"`
	Points     []pointJSON     `json:"points"`
	Flights    []flightJSON    `json:"flights"`
	Lines      []lineJSON      `json:"lines"`
	Speed      speedJSON       `json:"speed"`
	Missing    []missedJSON    `json:"missing"`
	placesJSON
	Findings []finding.Finding `json:"findings"`
	Files    []File            `json:"files"`
}

type photosJSON struct {
	Read           int           `json:"read"`
	Used           int           `json:"used"`
	LeftOut        []leftOutJSON `json:"left_out"`
	OutsideCentres int           `json:"outside_centres"`
	Duplicates     int           `json:"duplicates"`
}

type leftOutJSON struct {
	File   string          `json:"file"`
	Reason string          `json:"reason"`
	Said   json.RawMessage `json:"said,omitempty"`
}

type totalsJSON struct {
	Gap          rounded `json:"gap_m2"`
	NoStereo     rounded `json:"no_stereo_m2"`
	Thin         rounded `json:"thin_m2"`
	CoveredShare rounded `json:"covered_share"`
	EnoughShare  rounded `json:"enough_share"`
}

type zoneJSON struct {
	Kind string  `json:"kind"`
	Area rounded `json:"area_m2"`
	Lon  rounded `json:"lon"`
	Lat  rounded `json:"lat"`
	Sure rounded `json:"certain_share"`
}

type edgeJSON struct {
	Length      rounded         `json:"length_m"`
	Captured    rounded         `json:"captured_m"`
	WantedViews int             `json:"wanted_views"`
	Verdict     string          `json:"verdict"`
	Said        json.RawMessage `json:"said,omitempty"`
	Reach       *reachJSON      `json:"reach"` // of photo centres past the edge; null without lines
	Stretches   []stretchJSON   `json:"stretches"`
}

// stretchJSON numbers rings from 1, in the order of the site area: part by
// part, outline first. The position is the middle of the stretch.
type stretchJSON struct {
	Ring     int     `json:"ring"`
	From     rounded `json:"from_m"`
	To       rounded `json:"to_m"`
	MinViews int     `json:"min_views"`
	Lon      rounded `json:"lon"`
	Lat      rounded `json:"lat"`
}

type overlapJSON struct {
	Forward spreadJSON `json:"forward"`
	Side    spreadJSON `json:"side"`
	Weakest []weakJSON `json:"weakest"` // forward, less than wanted, the least first
}

type spreadJSON struct {
	Median     rounded   `json:"median"`
	Min        rounded   `json:"min"`
	BelowShare rounded   `json:"below_share"`
	N          int       `json:"n"`
	Bins       []binJSON `json:"bins"`
}

// binJSON counts the values from one to before another, in the unit of their
// median, and those of them that miss what was wanted.
type binJSON struct {
	From   rounded `json:"from"`
	To     rounded `json:"to"`
	N      int     `json:"n"`
	Missed int     `json:"missed"`
}

type gsdJSON struct {
	Median rounded `json:"median"`
	Min    rounded `json:"min"`
	Max    rounded `json:"max"`
}

type gsdBinsJSON struct {
	gsdJSON
	Bins []binJSON `json:"bins"`
}

// WriteJSON writes the audit as one JSON object. Units are in the names of the
// keys; a figure that could not be measured is null.
func WriteJSON(w io.Writer, n Note) error {
	if n.Audit == nil {
		return errNoAudit
	}
	n.Units = n.Units.Recorded()
	a := n.Audit
	out := auditJSON{
		basisJSON: basisOf(n), placesJSON: placesJSONOf(a),
		Letterhead: n.Letterhead.JSON(), SiteArea: squareMetres(a.SiteArea),
		Photos: photosJSON{
			Read: a.Photos.Read, Used: a.Photos.Used, LeftOut: []leftOutJSON{},
			OutsideCentres: a.Photos.OutsideCentres, Duplicates: a.Photos.Duplicates,
		},
		Totals: totalsJSON{
			Gap: squareMetres(a.Totals.Gap), NoStereo: squareMetres(a.Totals.NoStereo), Thin: squareMetres(a.Totals.Thin),
			CoveredShare: share(a.Totals.CoveredShare), EnoughShare: share(a.Totals.EnoughShare),
		},
		Zones: []zoneJSON{},
		Edge: edgeJSON{
			Length: metres(a.Edge.Length), Captured: metres(a.Edge.Captured),
			WantedViews: a.Wanted.Views, Verdict: n.Units.Sentence(n.edge()), Said: n.edge().Said(), Reach: reachOf(a.Edge.Reach), Stretches: []stretchJSON{},
		},
		Refly:     []reflyJSON{},
		ReflyPlan: reflyPlanOf(a.ReflyPlan),
		Points:    pointsJSON(a),
		Findings:  n.findings(),
		Files:     append([]File{}, n.Files...),
	}
	for _, l := range a.Photos.LeftOut {
		out.Photos.LeftOut = append(out.Photos.LeftOut, leftOutJSON{l.File, l.Reason.String(), l.Reason.Said()})
	}
	for _, z := range a.Zones {
		out.Zones = append(out.Zones, zoneJSON{string(z.Kind), squareMetres(z.Area), longitude(z.Label), latitude(z.Label), share(z.Certain)})
	}
	for _, s := range a.Edge.Stretches {
		at := middle(s.Path)
		out.Edge.Stretches = append(out.Edge.Stretches, stretchJSON{s.Ring + 1, metres(s.From), metres(s.To), s.MinViews, longitude(at), latitude(at)})
	}
	for _, r := range a.Refly {
		out.Refly = append(out.Refly, reflyOf(r))
	}
	out.Overlap.Forward, out.Overlap.Side = spreadJSONOf(a.Overlap.Forward), spreadJSONOf(a.Overlap.Side)
	out.addFlown(a)
	out.GSD = gsdJSONOf(a.GSD)

	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(out)
}

func spreadJSONOf(s coverage.Spread) spreadJSON {
	return spreadJSON{known(s.Median, s.N, 6), known(s.Min, s.N, 6), known(s.Below, s.N, 6), s.N, binsJSONOf(s, 1)}
}

// binsJSONOf gives the bins in a unit of which a metre, or a whole, has so many.
func binsJSONOf(s coverage.Spread, units float64) []binJSON {
	out := []binJSON{}
	for _, b := range s.Bins {
		out = append(out, binJSON{rounded{units * b.From, 9}, rounded{units * b.To, 9}, b.N, b.Missed})
	}
	return out
}

// known is null when there was nothing to measure.
func known(x float64, n, decimals int) rounded {
	if n == 0 {
		return rounded{math.NaN(), 0}
	}
	return rounded{x, decimals}
}

// numbers counts from 1 what the indexes count from 0.
func numbers(indexes []int) []int {
	out := make([]int, len(indexes))
	for i, index := range indexes {
		out[i] = index + 1
	}
	return out
}
