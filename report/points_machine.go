package report

import "selvage/coverage"

type pointJSON struct {
	Name         string   `json:"name"`
	Number       int      `json:"number"` // in the order given, from 1
	Lon          rounded  `json:"lon"`
	Lat          rounded  `json:"lat"`
	Outside      bool     `json:"outside"` // the site area
	Views        int      `json:"views"`
	WantedViews  int      `json:"wanted_views"`
	ClearViews   int      `json:"clear_views"` // a tenth of half the image side or more within the image
	Lines        int      `json:"lines"`
	OffLineViews int      `json:"off_line_views"`
	BestFile     string   `json:"best_file"`
	BestEdge     rounded  `json:"best_edge_m"`
	BestShare    rounded  `json:"best_edge_share"`
	LeastEdge    rounded  `json:"least_edge_m"`
	LeastShare   rounded  `json:"least_edge_share"`
	GSD          rounded  `json:"gsd_mm"`
	Files        []string `json:"files"` // the best first, a few
}

func pointsJSON(a *coverage.Audit) []pointJSON {
	out := []pointJSON{}
	for _, p := range a.Points {
		out = append(out, pointJSON{
			p.Name, p.Number, longitude(p.Position), latitude(p.Position), p.Outside, p.Views, a.Wanted.PointViews, p.Clear, p.Lines, p.OffLine,
			p.BestFile, metres(p.Best.Metres), share(p.Best.Share), metres(p.Nearest.Metres), share(p.Nearest.Share), millimetres(p.GSD),
			append([]string{}, p.Files...),
		})
	}
	return out
}

func (f *features) addPoints(a *coverage.Audit) {
	for i, p := range a.Points {
		f.add(p.Position, struct {
			Role   string  `json:"role"`
			Number int     `json:"number"`
			Name   string  `json:"name,omitempty"`
			Views  int     `json:"views"`
			Lines  int     `json:"lines"`
			Share  rounded `json:"best_edge_share"`
		}{"control point", i + 1, Clean(p.Name), p.Views, p.Lines, share(p.Best.Share)})
	}
}
