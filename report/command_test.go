package report

import "testing"

func TestRecompute(t *testing.T) {
	n := fakeNote()
	if got, want := n.Recompute(), `selvage verify "long meadow.json" --in ..`; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	n.Command.Flags[0].Value = "../../job/a.json"
	if got, want := n.Recompute(), `selvage verify "long meadow.json" --in ../..`; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	n.Command = Command{}
	if got := n.Recompute(); got != "" {
		t.Errorf("%s", got)
	}
}
