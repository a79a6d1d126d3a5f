package compare

import (
	"bytes"
	"strings"
	"testing"

	"selvage/report"
)

// A record is refused in a line, or it can be compared with itself.
func FuzzRead(f *testing.F) {
	figures := render(f, fakeNote(), report.WriteJSON)
	f.Add([]byte(figures), []byte(render(f, fakeNote(), report.WriteGeoJSON)))
	f.Add([]byte("\xFF\xFE{\x00}\x00"), []byte(nil))
	f.Add([]byte(planText), []byte("{}"))
	f.Add([]byte(`{"site_area_m2":1,"totals":{"gap_m2":1e15},"photos":{},"zones":[{"kind":"gap","area_m2":1}],"edge":null,"speed":null}`),
		[]byte(`{"features":[{"properties":{"role":"site"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}},{"properties":{"role":"zone","kind":"gap","area_m2":1},"geometry":{"type":"Polygon","coordinates":[[[540,90],[1,0],[1,1],[540,90]]]}}]}`))
	f.Fuzz(func(t *testing.T, data, shapes []byte) {
		told := func(err error) {
			if s := err.Error(); !strings.HasPrefix(s, "in.") || strings.ContainsAny(s, "\n\r\x1b") || len(s) > 1000 {
				t.Errorf("said %q", s)
			}
		}
		r, err := Read("in.json", data, "")
		if err != nil {
			told(err)
			return
		}
		if r.Audit != nil {
			if err := r.ReadShapes("in.geojson", shapes); err != nil {
				told(err)
			}
		}
		c, err := Records(r, r, report.Units{})
		if err == nil {
			for _, g := range c.Figures {
				if g.Judgement == Better || g.Judgement == Worse {
					t.Errorf("%s is %s than itself", g.Key, g.Judgement)
				}
			}
			var out bytes.Buffer
			if err := c.WriteText(&out, report.Style{}); err != nil || strings.ContainsAny(out.String(), "\x1b\r") {
				t.Errorf("%v: %q", err, &out)
			}
			if err := c.WriteJSON(&out); err != nil {
				t.Error(err)
			}
		}
	})
}
