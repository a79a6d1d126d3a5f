package report

import (
	"selvage/coverage"
)

// placesJSON is what the machine output says of what is certain, and of what is
// known by place.
type placesJSON struct {
	Certainty  *certaintyJSON `json:"certainty"` // null without photos
	OneLine    placedJSON     `json:"one_line"`
	GSDByPlace fineJSON       `json:"gsd_by_place"`
	Views      viewsJSON      `json:"views"`
}

// certaintyJSON has the errors as median and greatest over the photos.
type certaintyJSON struct {
	Certainly     shortJSON `json:"certainly"`
	Measured      shortJSON `json:"measured"`
	Perhaps       shortJSON `json:"perhaps"`
	Radius        mostJSON  `json:"radius_m"`
	PositionError mostJSON  `json:"position_error_m"`
	AttitudeError mostJSON  `json:"attitude_error_deg"`
	HeightError   mostJSON  `json:"height_error_m"`
}

// shortJSON holds ground, each figure within the next.
type shortJSON struct {
	NoView      rounded `json:"no_view_m2"`
	BelowTwo    rounded `json:"below_two_m2"`
	BelowWanted rounded `json:"below_wanted_m2"`
	Edge        rounded `json:"edge_short_m"`
}

type mostJSON struct {
	Median rounded `json:"median"`
	Max    rounded `json:"max"`
}

type placedJSON struct {
	Area  rounded     `json:"area_m2"`
	Zones []pieceJSON `json:"zones"`
}

type pieceJSON struct {
	Area rounded `json:"area_m2"`
	Lon  rounded `json:"lon"`
	Lat  rounded `json:"lat"`
}

// fineJSON has the finest photo of each place, and the median of its photos,
// over the middles of square cells.
type fineJSON struct {
	Cell   rounded     `json:"cell_m"`
	Best   gsdBinsJSON `json:"best_mm"`
	Usual  gsdBinsJSON `json:"median_mm"`
	Tenths []rounded   `json:"best_tenths_mm"` // finest place, finest tenth of the ground, … coarsest
	Coarse placedJSON  `json:"coarse"`
}

// viewsJSON has the share of the site area by number of views, from 0 on.
type viewsJSON struct {
	Cell   rounded   `json:"cell_m"`
	Shares []rounded `json:"shares"`
}

func placesJSONOf(a *coverage.Audit) placesJSON {
	g := a.GSDByPlace
	out := placesJSON{
		OneLine: placedJSONOf(a.OneLine),
		GSDByPlace: fineJSON{
			known(g.Cell, g.Best.N, 3), gsdJSONOf(g.Best), gsdJSONOf(g.Usual), []rounded{}, placedJSONOf(g.Coarse),
		},
		Views: viewsJSON{known(a.Raster.Cell, len(a.Raster.Views), 3), []rounded{}},
	}
	for _, x := range g.Tenths {
		out.GSDByPlace.Tenths = append(out.GSDByPlace.Tenths, millimetres(x))
	}
	for _, s := range a.Raster.Shares() {
		out.Views.Shares = append(out.Views.Shares, share(s))
	}
	if c := a.Certainty; c.Radius.N > 0 {
		out.Certainty = &certaintyJSON{
			shortJSONOf(c.Certain), shortJSONOf(c.Measured), shortJSONOf(c.Possible),
			mostJSONOf(c.Radius), mostJSONOf(c.Position), mostJSONOf(c.Attitude), mostJSONOf(c.Height),
		}
	}
	return out
}

func shortJSONOf(s coverage.Short) shortJSON {
	return shortJSON{squareMetres(s.NoView), squareMetres(s.BelowTwo), squareMetres(s.BelowWanted), metres(s.Edge)}
}

func mostJSONOf(s coverage.Spread) mostJSON { return mostJSON{metres(s.Median), metres(s.Max)} }

func gsdJSONOf(s coverage.Spread) gsdBinsJSON {
	return gsdBinsJSON{gsdJSON{known(1000*s.Median, s.N, 3), known(1000*s.Min, s.N, 3), known(1000*s.Max, s.N, 3)}, binsJSONOf(s, 1000)}
}

func placedJSONOf(g coverage.Ground) placedJSON {
	out := placedJSON{squareMetres(g.Area), []pieceJSON{}}
	for _, p := range g.Pieces {
		out.Zones = append(out.Zones, pieceJSON{squareMetres(p.Area), longitude(p.Label), latitude(p.Label)})
	}
	return out
}

// addGround adds the pieces of ground of one kind.
func (f *features) addGround(role string, g coverage.Ground) {
	for i, p := range g.Pieces {
		f.add(p.Shape, struct {
			Role   string  `json:"role"`
			Number int     `json:"number"`
			Area   rounded `json:"area_m2"`
		}{role, i + 1, squareMetres(p.Area)})
	}
}
