// Package coverage measures what a set of photos saw of an area. It is pure:
// it opens no files, reads no clock and prints nothing.
package coverage

import (
	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
	"selvage/coverage/terrain"
)

// Wanted is what the job asked for. A zero field was not asked.
type Wanted struct {
	Views         int     // photos that must see every point
	Forward, Side float64 // overlaps as shares, 0.75 for 75 %
	GSD           float64 // metres a pixel
	PointViews    int     // photos that must see every control point; 0: the usual 3
}

// Job is everything an audit needs. Shapes are in degrees lon/lat.
type Job struct {
	Site   orb.MultiPolygon // what had to be captured: the mended client area
	Flight orb.MultiPolygon // what was to be flown; may be empty
	// Photos must stay as they are while the audit is used, which points to them.
	Photos []photo.Photo
	// LeftOut are photos that were already unusable when read.
	LeftOut []photo.LeftOut
	// Others are the files of photos that belong to another audit, so that
	// they are not taken for missing.
	Others []string
	// Height is the planned height above ground in metres; NaN when not given.
	Height float64
	// Ground is the altitude of the ground in metres, in the photos' datum; NaN when not given.
	Ground float64
	// Terrain is the height of the ground; nil: it is level everywhere. Heights
	// and altitudes must count from the same datum.
	Terrain *terrain.Mosaic
	// Camera overrides, field by field, what the photos say.
	Camera  photo.Camera
	Wanted  Wanted
	Errors  Errors
	Points  []Point // control points, and what else must be seen; may be empty
	MinZone float64 // m²; smaller zones are counted in Totals but not listed
	// ReflyBuffer is how far, in metres, a re-fly area reaches past its zones;
	// NaN: as far as closing them takes.
	ReflyBuffer float64
	// KeepOut is ground that re-fly areas must not reach over; may be empty.
	KeepOut orb.MultiPolygon
	// MaxVertices is how many vertices a re-fly area may have; 0: any number.
	MaxVertices int
	// MaxBlur is by how many pixels the image may move while the shutter is
	// open; 0: the usual 0.7.
	MaxBlur float64
	// Trigger is the shortest time between photos that the camera keeps, in
	// seconds; 0: the shortest that each flight shows.
	Trigger float64
}

// ZoneKind classes the ground by views.
type ZoneKind string

const (
	Gap      ZoneKind = "gap"       // no photo sees it
	NoStereo ZoneKind = "no-stereo" // one photo sees it
	Thin     ZoneKind = "thin"      // two or more, fewer than wanted
)

// Audit is the answer. Lengths are metres, areas square metres, angles degrees.
type Audit struct {
	SiteArea  float64
	Wanted    Wanted
	Photos    Count
	Shots     []Shot
	Lines     []Line
	Flights   []Flight
	Missed    []Missed
	Speed     Speeds
	Weakest   []WeakPair // forward overlaps less than wanted, the least first, a few
	Totals    Totals
	Zones     []Zone
	Views     []ViewBand
	Edge      Edge
	Overlap   struct{ Forward, Side Spread } // shares
	GSD       Spread                         // metres a pixel
	Refly     []Refly
	ReflyPlan ReflyPlan
	Points    []PointViews // the worst first
	Findings  []finding.Finding

	Certainty  Certainty
	OneLine    Ground // enough photos see it, but all of them from one flight line
	GSDByPlace GSDByPlace
	Raster     Raster
	Map        DegreeRaster // as Raster, for maps in degrees
}

// Count says what became of the photos. Read = Used + len(LeftOut).
type Count struct {
	Read, Used     int
	LeftOut        []photo.LeftOut
	OutsideCentres int // used photos taken from outside the site and flight areas
	Duplicates     int // of those left out, how many repeat another photo
}

// Shot is one photo that was used. Its own Camera is that used, with what the
// photo did not say filled in.
type Shot struct {
	*photo.Photo
	Camera    photo.Camera
	Height    float64  // above ground, metres
	Footprint orb.Ring // degrees, closed, counter-clockwise
	GSD       float64  // metres a pixel at the image centre
	Line      int      // index into Audit.Lines, -1 when in none
	Outside   bool     // centre lies outside the site and flight areas
	Phase     string   // what the aircraft was about, in words, as in package sequence
	Speed     float64  // over ground, metres a second; NaN when unknown
	Blur      float64  // pixels that the image moved while the shutter was open; NaN when unknown
}

// Line is one flight line: successive shots on one course.
type Line struct {
	Shots  []int // indexes into Audit.Shots, in the order flown
	Course float64
	Length float64
	Flight int // index into Audit.Flights
	Speed  LineSpeed
}

// Totals sums the classes over the whole site area; they are disjoint.
type Totals struct {
	Gap, NoStereo, Thin float64 // m²
	CoveredShare        float64 // share of the site area seen by at least one photo
	EnoughShare         float64 // share seen by at least the wanted views
}

// Zone is one connected piece of ground of a class, no smaller than Job.MinZone.
type Zone struct {
	Kind  ZoneKind
	Area  float64
	Label orb.Point // a point inside, degrees
	Shape orb.Polygon
	// Certain is the share of the area that falls short of the class for
	// certain, however the photos err; 0 to 1.
	Certain float64
}

// ViewBand is the part of the site area seen by From to To photos.
type ViewBand struct {
	From, To int // To < 0: no upper end
	Area     float64
	Shape    orb.MultiPolygon
}

// Edge is the walk along the site area's boundary.
type Edge struct {
	Length, Captured float64 // metres; captured has at least the wanted views
	Rings            []EdgeRing
	Stretches        []Stretch // where the edge falls short
	Reach            EdgeReach // of the photo centres beyond it
}

// EdgeRing is one ring of the boundary with its views by chainage.
type EdgeRing struct {
	Part, Ring int // count from 1
	Start      orb.Point
	Length     float64
	Profile    []Step // from chainage 0 to Length, without holes
}

// Step is a piece of edge with one number of views.
type Step struct {
	From, To float64
	Views    int
}

// Stretch is a piece of edge with fewer than the wanted views. One that runs
// over the first vertex of its ring is listed in two pieces.
type Stretch struct {
	Ring     int // index into Edge.Rings
	From, To float64
	MinViews int
	Path     orb.LineString // degrees
}

// Spread summarises many values. N is how many there were.
type Spread struct {
	N                int
	Median, Min, Max float64
	Below            float64 // share of the values that miss what was wanted
	Bins             []Bin   // rising and without holes; nil where all values are 0
}

// Bin counts the values from From to before To, and those of them that miss
// what was wanted.
type Bin struct {
	From, To  float64
	N, Missed int
}
