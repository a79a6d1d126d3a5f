package report

import (
	"encoding/json"
	"strings"
	"testing"

	"selvage/coverage"
)

func TestPointsInWords(t *testing.T) {
	n := fakeNote()
	check := n.Checks()[6]
	if check.Met != No || check.Wanted != "3 photos or more, from 2 lines" || check.Found != "1 of 3; 1 from one line; 1 with too few, the least 0 photos" {
		t.Errorf("%+v", check)
	}
	if v := n.Verdict(); !strings.Contains(v, " Control points: 1 of 3 seen by fewer than 3 photos. ") {
		t.Error(v)
	}
	n.Audit.Points = n.Audit.Points[1:]
	if c := n.Checks()[6]; c.Met != InPart || c.Found != "1 of 2; 1 from one line" {
		t.Errorf("%+v", c)
	}
	n.Audit.Points = n.Audit.Points[1:]
	if c := n.Checks()[6]; c.Met != Yes || c.Found != "1 of 1" {
		t.Errorf("%+v", c)
	}
	n.Audit.Points = nil
	if len(n.Checks()) != 6 {
		t.Error("a check of points without any")
	}
}

func TestPointsInAllOutputs(t *testing.T) {
	for name, c := range map[string]struct {
		out  string
		want []string
	}{
		"text": {render(t, fakeNote(), plainText), []string{
			"\nControl points\n  Wanted for each: 3 photos or more, from 2 lines. Seen so: 1 of 3 points. Seen\n  by too few photos: GCP 4. Seen from one flight line only: C2.\n",
			"  C1   GCP 4 ", "  C3   a name too long…  24 ", "33.1 m (95 %)", "–",
			"\nBeyond the edge\n  Photo centres reach 31.2 m past the edge (median); the least is 4.0 m, near\n",
			"Edge captured:\n98.0 % of 1,564 m; 31.0 m short in 2 stretches.",
		}},
		"page": {render(t, fakeNote(), WriteHTML), []string{
			`<h2 id="points">Control points</h2>`, `<td class="words">GCP 4</td>`, "(outside)</td>", ">GCP 4</text>", ">C2</text>", ">C3</text>",
			"control point with too few views", "control point, seen from one line", "control point, seen well",
			"A0050.JPG, A0051.JPG, A0049.JPG</p>", "A0012.JPG, A0013.JPG and 22\u00a0more", "17.5\u00a0m past an edge that crosses the lines", "along 87.1\u00a0% of the edge",
			"<p>Edge captured: 98.0\u00a0% of 1,564\u00a0m; 31.0\u00a0m short in 2\u00a0stretches.</p>",
		}},
		"shapes": {render(t, fakeNote(), WriteGeoJSON), []string{`"role":"control point","number":1,"name":"GCP 4","views":0,"lines":0,"best_edge_share":null}`}},
	} {
		for _, want := range c.want {
			if !strings.Contains(c.out, want) {
				t.Errorf("the %s has no %q", name, want)
			}
		}
	}
	n := fakeNote()
	n.Audit.Points, n.Audit.Edge.Reach = nil, coverage.EdgeReach{}
	for name, out := range map[string]string{"text": render(t, n, plainText), "page": render(t, n, WriteHTML), "shapes": render(t, n, WriteGeoJSON)} {
		if strings.Contains(out, "ontrol point") || strings.Contains(out, "Photo centres reach") {
			t.Errorf("the %s tells of points or of reach", name)
		}
	}
}

func TestPointsInJSON(t *testing.T) {
	var got struct {
		Edge struct {
			Verdict string
			Reach   map[string]float64
		}
		Points []map[string]any
	}
	if err := json.Unmarshal([]byte(render(t, fakeNote(), WriteJSON)), &got); err != nil {
		t.Fatal(err)
	}
	if p := got.Points[0]; p["best_edge_m"] != nil || p["gsd_mm"] != nil || p["views"] != 0.0 || p["number"] != 4.0 || p["wanted_views"] != 3.0 {
		t.Errorf("%v", p)
	}
	if p := got.Points[2]; p["best_edge_share"] != 0.95 || p["least_edge_m"] != 0.4 || p["gsd_mm"] != 18.7 || p["outside"] != true || p["off_line_views"] != 1.0 {
		t.Errorf("%v", p)
	}
	if r := got.Edge.Reach; r["median_m"] != 31.24 || r["needed_across_m"] != 20 || r["enough_share"] != 0.871 || r["n"] != 88 {
		t.Errorf("%v", r)
	}
	if got.Edge.Verdict != "Edge captured: 98.0 % of 1,564 m; 31.0 m short in 2 stretches." {
		t.Error(got.Edge.Verdict)
	}
}

// A point far off does not shrink the map to a speck.
func TestMapWithAFarPoint(t *testing.T) {
	n := fakeNote()
	n.Audit.Points[0].Position = local(90_000, 0)
	page := render(t, n, WriteHTML)
	if !strings.Contains(page, "1\u00a0control point lies too far off to be shown.") {
		t.Error("the far point is not spoken of")
	}
	if strings.Contains(page, ">GCP 4</text>") {
		t.Error("the far point has a label")
	}
}
