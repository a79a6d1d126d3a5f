package report

import (
	"slices"

	"selvage/boundary/plane"
	"selvage/coverage"
	"selvage/coverage/photo"
)

// basisJSON is what the figures of an audit rest on. Another audit can only be
// held against them when it is known.
type basisJSON struct {
	Version    string      `json:"version"`
	Units      string      `json:"units"` // of the parameters
	Wanted     wantedJSON  `json:"wanted"`
	Inputs     []Input     `json:"inputs"`
	Parameters []Parameter `json:"parameters"`
	Command    Command     `json:"command"`
	Flown      flownJSON   `json:"flown"`
}

// wantedJSON has null for what was not asked.
type wantedJSON struct {
	Views   *int    `json:"views"`
	Forward rounded `json:"forward_overlap"`
	Side    rounded `json:"side_overlap"`
	GSD     rounded `json:"gsd_mm"`
}

// flownJSON sums the flights up. The track leads along the lines and the ways
// from line to line; the time runs from the first photo of each flight to its last.
type flownJSON struct {
	Cameras    []cameraJSON `json:"cameras"` // that with the most photos first
	Height     gsdJSON      `json:"height_m"`
	LinePhotos int          `json:"line_photos"`
	LineLength rounded      `json:"line_length_m"`
	Track      rounded      `json:"track_m"`
	Time       rounded      `json:"time_s"` // null when a flight's is not known
}

type cameraJSON struct {
	SensorWidth  rounded `json:"sensor_width_mm"`
	SensorHeight rounded `json:"sensor_height_mm"`
	FocalLength  rounded `json:"focal_length_mm"`
	Columns      int     `json:"columns"`
	Rows         int     `json:"rows"`
	Photos       int     `json:"photos"`
}

func basisOf(n Note) basisJSON {
	w := n.Audit.Wanted
	asked := func(x float64, decimals int) rounded {
		if x > 0 {
			return rounded{x, decimals}
		}
		return known(0, 0, 0)
	}
	b := basisJSON{
		Version: n.Version, Units: n.Units.Measures.String(),
		Wanted: wantedJSON{Forward: asked(w.Forward, 6), Side: asked(w.Side, 6), GSD: asked(1000*w.GSD, 3)},
		Inputs: append([]Input{}, n.Inputs...), Parameters: []Parameter{}, Command: n.Command.orEmpty(), Flown: flownSum(n.Audit),
	}
	if w.Views > 0 {
		b.Wanted.Views = &w.Views
	}
	for _, p := range n.Parameters {
		b.Parameters = append(b.Parameters, Parameter{n.Units.Sentence(p.Name), n.Units.Sentence(p.Value)})
	}
	return b
}

func flownSum(a *coverage.Audit) flownJSON {
	out := flownJSON{Cameras: camerasOf(a.Shots)}
	var heights []float64
	for _, s := range a.Shots {
		if finite(s.Height) {
			heights = append(heights, s.Height)
		}
	}
	slices.Sort(heights)
	low, middle, high := spread(heights)
	out.Height = gsdJSON{known(middle, len(heights), 3), known(low, len(heights), 3), known(high, len(heights), 3)}

	var length, ways float64
	for i, l := range a.Lines {
		out.LinePhotos += len(l.Shots)
		if finite(l.Speed.Length) {
			length += l.Speed.Length
		}
		if i == 0 || len(l.Shots) == 0 || a.Lines[i-1].Flight != l.Flight || len(a.Lines[i-1].Shots) == 0 {
			continue
		}
		before := a.Lines[i-1].Shots
		ways += plane.GeodesicDistance(a.Shots[before[len(before)-1]].Position, a.Shots[l.Shots[0]].Position)
	}
	out.LineLength = known(length, len(a.Lines), 3)
	out.Track = known(length+ways, len(a.Lines), 3)

	var time float64
	dated := len(a.Flights)
	for _, f := range a.Flights {
		if f.Start.IsZero() || f.End.IsZero() {
			dated = 0
		}
		time += f.End.Sub(f.Start).Seconds()
	}
	out.Time = known(time, dated, 3)
	return out
}

// spread returns the least, the median and the greatest of sorted values; zeros
// when there are none.
func spread(sorted []float64) (low, middle, high float64) {
	n := len(sorted)
	if n == 0 {
		return 0, 0, 0
	}
	return sorted[0], (sorted[(n-1)/2] + sorted[n/2]) / 2, sorted[n-1]
}

func camerasOf(shots []coverage.Shot) []cameraJSON {
	out := []cameraJSON{}
	index := map[photo.Camera]int{}
	for _, s := range shots {
		c := s.Camera
		i, seen := index[c]
		if !seen {
			if !finite(c.SensorWidth + c.SensorHeight + c.FocalLength) {
				continue // it would never be found again
			}
			i = len(out)
			index[c] = i
			out = append(out, cameraJSON{rounded{c.SensorWidth, 4}, rounded{c.SensorHeight, 4}, rounded{c.FocalLength, 4}, c.Columns, c.Rows, 0})
		}
		out[i].Photos++
	}
	slices.SortStableFunc(out, func(a, b cameraJSON) int { return b.Photos - a.Photos })
	return out
}
