package verify

import (
	"testing"

	"selvage/report/compare"
)

// A record that can be read is the same as itself.
func FuzzRun(f *testing.F) {
	f.Add([]byte(render(f, fakeNote())))
	f.Add([]byte(`{"site_area_m2":1,"totals":{"gap_m2":1e15},"photos":{},"zones":[],"parameters":[{"name":"a"},{"name":"a"}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := compare.Read("in.json", data, "")
		if err != nil || r.Audit == nil {
			return
		}
		v, err := Run(r, r.Text)
		if err == nil && !v.Equal() {
			t.Errorf("a note is not itself: %+v", v.Mismatches)
		}
	})
}
