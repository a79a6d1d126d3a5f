package main

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
)

func TestWayTo(t *testing.T) {
	root := t.TempDir()
	home := filepath.Join(root, "users", "anna")
	t.Setenv("HOME", home)
	t.Setenv("USERPROFILE", home)
	jobs := filepath.Join(root, "jobs")
	tests := []struct{ folder, to, want string }{
		{filepath.Join(jobs, "quarry", "out"), filepath.Join(jobs, "quarry", "out", "client.kml"), "client.kml"},
		{filepath.Join(jobs, "quarry", "out"), filepath.Join(jobs, "quarry", "DCIM"), "../DCIM"},
		{filepath.Join(jobs, "quarry", "out"), filepath.Join(jobs, "quarry"), ".."},
		{filepath.Join(jobs, "quarry", "out"), filepath.Join(jobs, "quarry", "out"), "."},
		{filepath.Join(jobs, "quarry", "out"), filepath.Join(jobs, "other client", "DCIM"), "../../other client/DCIM"},
		{filepath.Join(jobs, "quarry", "out", "deep"), filepath.Join(jobs, "other client", "DCIM"), "DCIM"},
		{filepath.Join(home, "out"), filepath.Join(home, "DCIM"), "DCIM"},
		{filepath.Join(home, "job", "out"), filepath.Join(home, "job", "DCIM"), "../DCIM"},
		{jobs, filepath.Join(home, "DCIM"), "DCIM"},
	}
	for _, tt := range tests {
		if got := wayTo(tt.folder, tt.to); got != tt.want {
			t.Errorf("from %s to %s: %q, want %q", tt.folder, tt.to, got, tt.want)
		}
	}
}

func TestNamedApart(t *testing.T) {
	var got []string
	for _, s := range named([]string{"a/DCIM", "b/DCIM", "b/DCIM/", "flight", "x/a/table.csv"}) {
		got = append(got, s.name)
	}
	if want := []string{"a/DCIM", "b/DCIM", "b/DCIM", "flight", "table.csv"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// Paths from a note lead nowhere but into the folders that the user named.
func TestCandidates(t *testing.T) {
	root := t.TempDir()
	write := func(parts ...string) string {
		name := filepath.Join(append([]string{root}, parts...)...)
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, nil, 0o666); err != nil {
			t.Fatal(err)
		}
		return name
	}
	note := write("job", "out", "client-coverage.json")
	write("job", "out", "client.kml")
	write("job", "secret", "client.kml")
	inFlat, inDeep := write("in", "client.kml"), write("in", "secret", "client.kml")
	outside := write("elsewhere", "client.kml")
	l, err := (&verifyFlags{folders: []string{filepath.Join(root, "in")}}).places(note)
	if err != nil {
		t.Fatal(err)
	}
	beside := filepath.Join(root, "job", "out", "client.kml")
	tests := []struct {
		recorded string
		want     []string
	}{
		{"client.kml", []string{beside, inFlat}},
		{"../secret/client.kml", []string{beside, inDeep, inFlat}},
		{"../../in/secret/client.kml", []string{inDeep, beside, inFlat}},
		{"../../elsewhere/client.kml", []string{beside, inFlat}},
		{"../../../../../../../../../../etc/passwd", nil},
		{"secret/../../secret/client.kml", nil},
		{outside, nil},
		{filepath.ToSlash(outside), nil},
		{"/etc/passwd", nil},
		{"//computer/share/client.kml", nil},
		{`\\computer\share\client.kml`, nil},
		{"C:client.kml", nil},
		{"client.kml\x00", nil},
	}
	for _, tt := range tests {
		if got := l.candidates(tt.recorded); !slices.Equal(got, tt.want) {
			t.Errorf("%q: %q, want %q", tt.recorded, got, tt.want)
		}
	}
	for recorded, want := range map[string]string{"..": "", "../..": "", ".": l.note} {
		got := l.candidates(recorded)
		if want == "" && len(got) > 0 || want != "" && !slices.Contains(got, want) {
			t.Errorf("%q: %q", recorded, got)
		}
	}
}
