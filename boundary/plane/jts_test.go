package plane

import (
	"encoding/xml"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// jtsSuite opens one of the XML suites of the JTS Topology Suite
// (locationtech/jts, modules/tests, testxml/general), which the module
// simplefeatures carries among its own tests.
func jtsSuite(t *testing.T, name string) jtsRun {
	t.Helper()
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/peterstace/simplefeatures").Output()
	var data []byte
	if err == nil {
		data, err = os.ReadFile(filepath.Join(strings.TrimSpace(string(dir)), "internal", "jtsport", "xmltest", "testdata", "general", name))
	}
	if err != nil {
		if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
			t.Fatalf("%s of the JTS Topology Suite: %v", name, err)
		}
		t.Skipf("no cross-check against %s of the JTS Topology Suite: %v", name, err)
	}
	var run jtsRun
	if err := xml.Unmarshal(data, &run); err != nil {
		t.Fatal(err)
	}
	return run
}

type jtsRun struct {
	Cases []struct {
		Name     string `xml:"desc"`
		Geometry string `xml:"a"`
		Tests    []struct {
			Op struct {
				Name     string `xml:"name,attr"`
				Expected string `xml:",chardata"`
			} `xml:"op"`
		} `xml:"test"`
	} `xml:"case"`
}

// jtsShape reads the WKT of a suite, in which a number may be NaN; nothing for
// a geometry that is no area.
func jtsShape(t *testing.T, text string) orb.MultiPolygon {
	t.Helper()
	if !strings.HasPrefix(text, "POLYGON") && !strings.HasPrefix(text, "MULTIPOLYGON") {
		return nil
	}
	const stand = 987654321
	mp := shape(t, strings.ReplaceAll(text, "NaN", fmt.Sprint(stand)))
	for _, p := range mp {
		for _, ring := range p {
			for i := range ring {
				if ring[i][1] == stand {
					ring[i][1] = math.NaN()
				}
			}
		}
	}
	return mp
}

// The verdicts are those that JTS publishes for its own validity check. They
// are for polygons in the sense of OGC Simple Features 06-103r4, 6.1.11, as
// ours are. Cases on points and lines are passed over. A ring without any
// vertex is valid for JTS; we name it, as too few, since a file that has one
// has lost a ring.
func TestValidAgainstJTS(t *testing.T) {
	for _, suite := range []struct {
		file                  string
		valid, invalid, empty int // areas that the suite has; empty: with a ring without vertices
	}{
		{"TestValid.xml", 23, 42, 3},
		{"TestValid2.xml", 249, 5, 2},
		{"TestValid2-big.xml", 1, 0, 0},
	} {
		t.Run(suite.file, func(t *testing.T) {
			valid, invalid, empty := 0, 0, 0
			for _, c := range jtsSuite(t, suite.file).Cases {
				text := strings.TrimSpace(c.Geometry)
				area := jtsShape(t, text)
				if area == nil && !strings.HasSuffix(text, "POLYGON EMPTY") {
					continue
				}
				faults := Faults(area)
				for _, test := range c.Tests {
					want := strings.TrimSpace(test.Op.Expected) == "true"
					switch {
					case test.Op.Name != "isValid":
						continue
					case strings.Contains(text, ", EMPTY"):
						empty++
						if !want || slices.ContainsFunc(faults, func(f Fault) bool { return f.Kind != TooFew }) {
							t.Errorf("%s: valid is %v for JTS, for us: %v\n%s", c.Name, want, faults, text)
						}
						continue
					case want:
						valid++
					default:
						invalid++
					}
					if (len(faults) == 0) != want {
						t.Errorf("%s: valid is %v for JTS, for us: %v\n%s", c.Name, want, faults, text)
					}
				}
			}
			if valid != suite.valid || invalid != suite.invalid || empty != suite.empty {
				t.Errorf("%d valid, %d invalid and %d with an empty ring, want %d, %d and %d", valid, invalid, empty, suite.valid, suite.invalid, suite.empty)
			}
		})
	}
}
