package pdf

import (
	"bytes"
	"math"
	"testing"

	"codeberg.org/go-pdf/fpdf"
)

func TestSheet(t *testing.T) {
	s := parseSheet(`
		:root { --ink: #123456; } /* p { color: #000000 } */
		p { color: #111111; margin: 1rem 2px }
		.a p { color: var(--ink) }
		div > p + p { color: #222222 }
		p:last-child { color: #333333 }
		p:not(.b) { font-weight: 700 }
		p:has(+ .b) { text-align: right }
		p:hover, p::selection, p[title] { color: #444444 }
		p::before { content: "x" }
		@media screen and (max-width: 40rem) { p { color: #555555 } }
		@media print { p { font-size: 8pt } }`)
	root, err := parse([]byte(`<body class="a"><div><p/><p class="b"/><p class="b c"/></div></body>`))
	if err != nil {
		t.Fatal(err)
	}
	div := root.find("div")
	for i, want := range []map[string]string{
		{"color": "#123456", "font-weight": "700", "text-align": "right", "margin": "1rem 2px", "font-size": "8pt"},
		{"color": "#123456", "text-align": "right", "margin": "1rem 2px", "font-size": "8pt"},
		{"color": "#333333", "margin": "1rem 2px", "font-size": "8pt"},
	} {
		got := map[string]string{}
		s.each(div.children[i], func(name, value string) { got[name] = value })
		if len(got) != len(want) {
			t.Errorf("paragraph %d: %v", i+1, got)
		}
		for name, value := range want {
			if got[name] != value {
				t.Errorf("paragraph %d: %s is %q, want %q", i+1, name, got[name], value)
			}
		}
		if before, after := s.pseudoElements(div.children[i]); before == nil || after != nil {
			t.Errorf("paragraph %d: before %v, after %v", i+1, before, after)
		}
	}
}

func TestLengths(t *testing.T) {
	for text, want := range map[string]float64{"0": 0, "8px": 6, "1.5rem": 15, ".5em": 4, "18pt": 18, "25.4mm": 72} {
		if got, ok := parseLength(text, 8); !ok || math.Abs(got-want) > 1e-9 {
			t.Errorf("%s is %v points, want %v", text, got, want)
		}
	}
	for _, text := range []string{"", "auto", "calc(.6rem - 1px)", "10%", "1e999px", "nanpt"} {
		if got, ok := parseLength(text, 8); ok {
			t.Errorf("%q is %v points", text, got)
		}
	}
}

func TestPaths(t *testing.T) {
	for _, test := range []struct {
		data string
		want string // operators and last points
	}{
		{"M10 20h5v-5l-5-5z", "m10,20 l15,20 l15,15 l10,10 h"},
		{"M1 2L3 4 5 6", "m1,2 l3,4 l5,6"},
		{"m1 1 2 2zm5 5h.5", "m1,1 l3,3 h m6,6 l6.5,6"},
		{"M0-6l6 6l-6 6l-6-6z", "m0,-6 l6,0 l0,6 l-6,0 h"},
		{"M-4 0a4 4 0 1 0 8 0", "m-4,0 c0,4 c4,0"},
		{"M1 1H7V9", "m1,1 l7,1 l7,9"},
		{"M1 1 q1 2 3 4", "m1,1"},
		{"", ""},
	} {
		got := ""
		for _, s := range parsePath(test.data) {
			if got != "" {
				got += " "
			}
			got += string(s.operator)
			if len(s.points) > 0 {
				p := s.points[len(s.points)-1]
				got += trim(p.x) + "," + trim(p.y)
			}
		}
		if got != test.want {
			t.Errorf("%q: %s, want %s", test.data, got, test.want)
		}
	}
}

func trim(x float64) string {
	x = math.Round(x*1000) / 1000
	if x == 0 {
		x = 0 // not −0
	}
	return string(bytes.TrimRight(bytes.TrimRight([]byte(number(x)), "0"), "."))
}

// A half circle keeps its distance from the middle all along.
func TestArcIsRound(t *testing.T) {
	s := parsePath("M-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0z")
	at := s[0].points[0]
	curves := 0
	for _, st := range s[1:] {
		if st.operator != 'c' {
			continue
		}
		curves++
		for u := 0.0; u <= 1; u += 0.05 {
			v := 1 - u
			x := v*v*v*at.x + 3*v*v*u*st.points[0].x + 3*v*u*u*st.points[1].x + u*u*u*st.points[2].x
			y := v*v*v*at.y + 3*v*v*u*st.points[0].y + 3*v*u*u*st.points[1].y + u*u*u*st.points[2].y
			if r := math.Hypot(x, y); math.Abs(r-4) > 0.002 {
				t.Errorf("the radius is %v", r)
			}
		}
		at = st.points[2]
	}
	if curves != 4 {
		t.Errorf("%d curves", curves)
	}
}

// The library measures letters by its own reading of the fonts.
func TestWidthsAgainstTheLibrary(t *testing.T) {
	faces, err := loadFaces()
	if err != nil {
		t.Fatal(err)
	}
	f := fpdf.New("P", "pt", "A4", "")
	faces.add(f)
	for face := range facesCount {
		f.SetFont(faceNames[face], "", 10)
		if n := len(faces[face].width); n < 500 {
			t.Errorf("%s has %d letters", faceNames[face], n)
		}
		for r, width := range faces[face].width {
			if theirs := f.GetStringSymbolWidth(string(r)); r >= ' ' && theirs-width > 1 || width-theirs > 1 {
				t.Errorf("%s: %q is %d wide, the library says %d", faceNames[face], r, width, theirs)
			}
		}
	}
}
