package coverage

import (
	"fmt"
	"math"
	"sync"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/photo"
	"selvage/coverage/sequence"
	"selvage/coverage/terrain"
)

// levelEnough is up to which share of a photo's height the ground within its
// footprint may vary, from the lowest to the highest, to be taken as level at
// the height midway. Ground dh above that narrows a side G of the footprint to
// G·(1 − dh/H), so that an overlap p becomes 1 − (1 − p)/(1 − dh/H). With dh/H
// at most 1 % either way, 75 % becomes 74.7 to 75.2 %: less than what is told
// apart when overlaps are compared in whole per cent.
const levelEnough = 0.02

// relief is the ground of a job by its terrain. A nil one knows nothing: all
// ground is level.
type relief struct {
	*terrain.Surface
	mosaic *terrain.Mosaic
}

// misfit is how far the surface lies from the terrain's files, metres of height,
// root mean square; 0 without terrain.
func (r *relief) misfit() float64 {
	if r == nil {
		return 0
	}
	return r.Misfit().RMS
}

// newRelief makes the ground under everything that the photos may see of the
// site, in plane metres; nil if the job has no terrain.
func newRelief(job Job, frame plane.Frame, site orb.MultiPolygon) (*relief, error) {
	if job.Terrain == nil {
		return nil, nil
	}
	extent := reach(job, frame, site.Bound())
	surface, err := terrain.NewSurface(frame, job.Terrain, extent.Pad(1+0.05*max(width(extent), depth(extent))), 0)
	if err != nil {
		return nil, fmt.Errorf("the terrain: %w", err)
	}
	return &relief{surface, job.Terrain}, nil
}

// laid is how a candidate's footprint lies on the terrain; nothing is set where
// there is none.
type laid struct {
	slant    float64 // to the ground at the image centre, metres; 0 where that is not known
	level    bool    // the ground is level enough to be taken as such
	unmapped bool    // not all the ground is known, so it is taken as level
	hidden   float64 // share of the footprint that ridges hide, about
}

// under returns the height of the ground at a place, NaN where it is unknown.
func (r *relief) under(at orb.Point) float64 {
	if r != nil {
		if h, ok := r.Height(at); ok {
			return h
		}
		if h, ok := r.mosaic.Elevation(r.Frame().Degrees(at)); ok && !r.Extent().Contains(at) {
			return h
		}
	}
	return math.NaN()
}

// layAll lays many; more than two at a time would take memory's speed, not the
// processor's.
func (r *relief) layAll(candidates []*candidate) {
	const workers = 2
	var each sync.WaitGroup
	for first := range workers {
		each.Go(func() {
			for i := first; i < len(candidates); i += workers {
				r.lay(candidates[i])
			}
		})
	}
	each.Wait()
}

// lay draws the footprint of a candidate whose height and angles are known,
// and finds how far the ground is at the middle of its image.
func (r *relief) lay(c *candidate) {
	c.footprint, c.cut = footprint(c.Camera, c.pose())
	if r == nil || c.footprint == nil {
		return
	}
	c.unmapped = !finite(c.ground) || !r.drape(c)
}

// drape lays the footprint over the terrain. It is false, and leaves the level
// one, where that is not known all along its rim.
func (r *relief) drape(c *candidate) bool {
	camera := [3]float64{c.at[0], c.at[1], c.ground + c.height}
	if ahead, ok := r.strike(camera, c.pose().ahead()); ok {
		c.slant = math.Hypot(distance(c.at, orb.Point{ahead[0], ahead[1]}), camera[2]-ahead[2])
	}
	within := c.footprint.Bound().Extend(c.at)
	least, known := r.Least(within)
	most, _ := r.Most(within)
	if known && most-least <= levelEnough*c.height {
		level := c.pose()
		level.height = camera[2] - (least+most)/2
		c.footprint, c.cut = footprint(c.Camera, level)
		c.level = true
		for _, p := range c.footprint {
			known = known && !r.Void(p)
		}
		return known
	}
	rays := c.pose()
	rays.at, rays.height = orb.Point{}, 1
	rim, _ := footprint(c.Camera, rays)
	t := tracer{relief: r, camera: camera, deviation: rimDeviation * c.height}
	ring, ok := t.trace(rim)
	if !ok {
		return false
	}
	c.footprint = ring
	c.hidden = t.hidden(rim)
	return true
}

// ahead is the direction of the optical axis as a place on a level plane 1
// below, or of the steepest ray below it where it looks further out.
func (p pose) ahead() orb.Point {
	axis, _, _ := p.axes()
	sin, cos := math.Sincos(radians(min(p.tilt(), steepest)))
	flat := math.Hypot(axis[0], axis[1])
	if flat == 0 {
		return orb.Point{}
	}
	return orb.Point{axis[0] / flat * sin / cos, axis[1] / flat * sin / cos}
}

// strike follows a ray from a camera through a place on a level plane 1 below it.
func (r *relief) strike(camera [3]float64, through orb.Point) (at [3]float64, ok bool) {
	s := r.Hit(camera, [3]float64{through[0], through[1], -1})
	return s.At, s.Outcome == terrain.Struck
}

// gsd returns the ground length in metres of a pixel at the image centre.
func (c *candidate) gsd() float64 {
	if c.slant > 0 {
		return GSD(pixelPitch(c.Camera), c.Camera.FocalLength, c.slant)
	}
	return centreGSD(c.Camera, c.pose())
}

// TerrainExtent is the ground, in degrees, of which a job's audit needs the
// height: the site and what the photos that may see it can reach. How far that
// is depends on the ground, so it can grow when Job.Terrain comes to know more;
// without any it is the bound of the site. Longitudes can go beyond 180.
func TerrainExtent(job Job) (orb.Bound, error) {
	unwrapped := plane.Unwrap(job.Site)
	frame, err := plane.FrameFor(unwrapped)
	if err != nil {
		return orb.Bound{}, fmt.Errorf("the site area: %w", err)
	}
	site := frame.ToMetres(unwrapped, edgeDeviation).Bound()
	if job.Terrain != nil {
		site = reach(job, frame, site)
	}
	corner := func(x, y float64) orb.Point {
		p := frame.Degrees(orb.Point{x, y})
		p[0] += 360 * math.Round((frame.Centre()[0]-p[0])/360)
		return p
	}
	// Where the sides of the extent bend, they do so by far less than a sixth of it.
	extent := corner(site.Min[0], site.Min[1]).Bound()
	for _, x := range []float64{site.Min[0], site.Center()[0], site.Max[0]} {
		for _, y := range []float64{site.Min[1], site.Center()[1], site.Max[1]} {
			extent = extent.Extend(corner(x, y))
		}
	}
	return extent, nil
}

// reach is the extent of a site and of what the photos that may see it can
// reach, in plane metres, by the heights that the terrain knows around it.
func reach(job Job, frame plane.Frame, site orb.Bound) orb.Bound {
	extent := site
	for range 2 { // the ground that comes into reach can lie lower, and then more of it does
		least, most, known := heightsWithin(job.Terrain, frame, extent)
		if !known {
			return extent
		}
		heights := make([]float64, len(job.Photos)) // above the lowest ground; NaN where of no use
		var usable []float64
		for i, p := range job.Photos {
			heights[i] = math.NaN()
			if lon, lat := p.Position[0], p.Position[1]; !finite(lon) || !finite(lat) || math.Abs(lon) > 360 || math.Abs(lat) > 90 {
				continue
			}
			height := p.Altitude - least
			if !finite(height) {
				above, _ := preferred(heightsOf(&p, job, math.NaN()))
				height = above + most - least
			}
			if height > 0 && height <= greatestHeight {
				heights[i], usable = height, append(usable, height)
			}
		}
		if len(usable) == 0 {
			return extent
		}
		usual := sequence.Median(usable)
		for i, p := range job.Photos {
			// One wrong altitude must not call for the terrain of a whole region.
			if !(heights[i] <= farHigher*usual) {
				continue
			}
			seen := frame.Metres(p.Position).Bound().Pad(heights[i] * widest(overridden(p.Camera, job.Camera), p))
			if seen.Intersects(site) {
				extent = extent.Union(seen)
			}
		}
	}
	return extent
}

// farHigher is how many times as high as usual a photo may be taken.
const farHigher = 4

// heightsWithin looks at the terrain here and there.
func heightsWithin(m *terrain.Mosaic, frame plane.Frame, b orb.Bound) (least, most float64, known bool) {
	const steps = 40
	least, most = math.Inf(1), math.Inf(-1)
	for i := range steps + 1 {
		for j := range steps + 1 {
			p := orb.Point{mix(b.Min[0], b.Max[0], float64(i)/steps), mix(b.Min[1], b.Max[1], float64(j)/steps)}
			if h, ok := m.Elevation(frame.Degrees(p)); ok {
				least, most = min(least, h), max(most, h)
			}
		}
	}
	return least, most, least <= most
}

// widest returns how far a photo reaches over level ground, whatever its
// heading, by its height.
func widest(camera photo.Camera, p photo.Photo) float64 {
	farthest := math.Tan(radians(steepest))
	if !complete(camera) {
		return farthest
	}
	looks := pose{height: 1, pitch: p.Pitch, roll: chooseFinite(p.Roll, 0)}
	if !finite(p.Pitch) {
		looks.pitch = -90
	}
	ring, _ := footprint(camera, looks)
	far := 0.0
	for _, p := range ring {
		far = max(far, math.Hypot(p[0], p[1]))
	}
	return far
}

func width(b orb.Bound) float64 { return b.Max[0] - b.Min[0] }

func depth(b orb.Bound) float64 { return b.Max[1] - b.Min[1] }
