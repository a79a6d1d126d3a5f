package main

import (
	"go/ast"
	"go/constant"
	"go/parser"
	"go/token"
	"go/types"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"selvage/boundary"
	"selvage/coverage"
	"selvage/coverage/photo"
	"selvage/coverage/terrain"
)

// The page of limits has the values of the code, and no others.
func TestGuideLimits(t *testing.T) {
	text, err := guidePage("limits")
	if err != nil {
		t.Fatal(err)
	}
	b, p, terr := boundary.DefaultLimits, "coverage/photo", terrain.DefaultLimits
	want := map[string]string{
		"a boundary file, and each file that belongs to it":          amountOf(b.Bytes/1e6, "MB"),
		"all that is unzipped of a KMZ or a zipped shapefile":        amountOf(b.UnzippedBytes/1e6, "MB"),
		"files in such an archive":                                   constantOf(t, "boundary", "mostFiles", 1, ""),
		"elements, objects or lists inside one another":              amountOf(b.Depth, ""),
		"vertices of a boundary file, each ring counting one more":   amountOf(b.Vertices, ""),
		"places where the sides of a file cross or crowd each other": amountOf(b.Crossings, ""),
		"columns of a table of vertices":                             constantOf(t, "boundary", "mostColumns", 1, ""),
		"width of a job":                                             constantOf(t, "boundary/plane", "widestFrame", 1000, "km"),
		"a buffer":                                                   constantOf(t, "boundary", "mostBuffer", 1000, "km"),
		"vertices of a flight area, with --max-vertices":             amountOf(mostVertices, ""),
		"what round corners may reach too far, with --arc-tolerance": amountOf(mostArcTolerance, "m"),
		"entries in a list of a job record":                          constantOf(t, "boundary", "mostListed", 1, ""),
		"what is read of a photo at first":                           constantOf(t, p, "FirstRead", 1<<10, "KiB"),
		"what more is read of it, where its metadata lie further on": amountOf(photo.UsualHead/1e6, "MB"),
		"places in a photo where that is read":                       constantOf(t, p, "mostReads", 1, ""),
		"an XMP packet":                                              constantOf(t, p, "mostPacket", 1<<10, "KiB"),
		"a positions table":                                          amountOf(photo.DefaultTableLimits.Bytes/1e6, "MB"),
		"photos, or rows of a positions table":                       amountOf(photo.DefaultTableLimits.Rows, ""),
		"one line of it":                                             constantOf(t, p, "mostLineBytes", 1<<10, "KiB"),
		"control points":                                             amountOf(b.Points, ""),
		"files of control points":                                    constantOf(t, "coverage", "mostPointFiles", 1, ""),
		"a terrain file in text":                                     amountOf(terr.Bytes/1e6, "MB"),
		"columns or rows of a terrain file":                          amountOf(terr.Side, ""),
		"heights of terrain in use at once":                          amountOf(terr.Cells, ""),
		"a coverage record that is compared":                         amountOf(usualLimits().record/1e6, "MB"),
		"memory":                                                     amountOf(usualLimits().memory/1e9, "GB"),
		"vertices of its areas":                                      constantOf(t, "report/compare", "mostCorners", 1, ""),
		"height above ground":                                        constantOf(t, "coverage", "greatestHeight", 1, "m"),
		"an overlap that a plan takes":                               constantOf(t, "coverage", "greatestOverlap", 0.01, "%"),
		"lines that a plan takes for one part":                       constantOf(t, "coverage", "mostLines", 1, ""),
		"an attitude error, with --attitude-error":                   amountOf(coverage.MostAttitudeError, "°"),
		"views wanted of every place":                                constantOf(t, "coverage", "usualViews", 1, ""),
		"views wanted of a control point":                            constantOf(t, "coverage", "usualPointViews", 1, ""),
		"error of a position without corrections":                    constantOf(t, "coverage", "usualPosition", 1, "m"),
		"the same, for each unit of dilution of precision":           constantOf(t, "coverage", "usualRange", 1, "m"),
		"error of an attitude that the photo gives":                  constantOf(t, "coverage", "statedAttitude", 1, "°"),
		"error of an attitude of which a part is assumed":            constantOf(t, "coverage", "assumedAttitude", 1, "°"),
		"motion blur":                                                constantOf(t, "coverage", "usualBlur", 1, "px"),
		"turn at the end of a line":                                  amountOf(coverage.UsualTurnTime, "s"),
		"size of a photo, for a million pixels":                      constantOf(t, "coverage", "usualPhotoSize", 1, "MB"),
		"rays that still count, from straight down":                  constantOf(t, "coverage", "steepest", 1, "°"),
	}
	tests := testNames(t)
	exact := 0
	for line := range strings.Lines(text) {
		row := cells(strings.TrimSpace(line))
		if !strings.HasPrefix(line, "|") || strings.HasPrefix(line, "|--") || row[0] == "what" {
			continue
		}
		if name := regexp.MustCompile(`^Test\w+`).FindString(row[len(row)-1]); name != "" {
			exact++
			if !tests[name] {
				t.Errorf("no test is called %s", name)
			}
			continue
		}
		if value, ok := want[row[0]]; !ok {
			t.Errorf("nothing in the code is called %q", row[0])
		} else if delete(want, row[0]); row[1] != value {
			t.Errorf("%s: the page says %s, the code %s", row[0], row[1], value)
		}
	}
	for name := range want {
		t.Errorf("the page has no %q", name)
	}
	if exact < 5 {
		t.Errorf("only %d statements of how exact it is", exact)
	}
	const oblique = "more than 15°"
	if constantOf(t, "coverage", "obliqueTilt", 1, "°") != "15°" || !strings.Contains(text, oblique) {
		t.Errorf("oblique photos are not %q", oblique)
	}
}

// amountOf writes a number with blanks between its thousands, and a unit.
func amountOf[T int | int64 | float64](v T, unit string) string {
	text := strconv.FormatFloat(float64(v), 'f', -1, 64)
	if len(text) > 4 {
		for i := len(text) - 3; i > 0; i -= 3 {
			text = text[:i] + " " + text[i:]
		}
	}
	if unit == "°" {
		return text + unit
	}
	return strings.TrimSpace(text + " " + unit)
}

// constantOf reads a constant of a package from its source, as a number of units.
func constantOf(t *testing.T, folder, name string, one float64, unit string) string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "..", folder, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	found := ""
	for _, path := range files {
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if _, local := n.(*ast.FuncDecl); local {
				return false
			}
			c, ok := n.(*ast.ValueSpec)
			if !ok {
				return true
			}
			i := slices.IndexFunc(c.Names, func(id *ast.Ident) bool { return id.Name == name })
			if i < 0 {
				return true
			}
			v, err := types.Eval(token.NewFileSet(), nil, token.NoPos, types.ExprString(c.Values[i]))
			if err != nil {
				t.Fatal(err)
			}
			amount, _ := constant.Float64Val(constant.ToFloat(v.Value))
			found = amountOf(amount/one, unit)
			return false
		})
	}
	if found == "" {
		t.Errorf("%s has no constant %s", folder, name)
	}
	return found
}

// testNames are all tests of the project.
func testNames(t *testing.T) map[string]bool {
	t.Helper()
	names := map[string]bool{}
	name := regexp.MustCompile(`(?m)^func (Test\w+)\(`)
	err := filepath.WalkDir(filepath.Join("..", ".."), func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		for _, found := range name.FindAllSubmatch(text, -1) {
			names[string(found[1])] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func TestAmountOf(t *testing.T) {
	for want, got := range map[string]string{
		"100 000": amountOf(100_000, ""), "2 000 000": amountOf(2_000_000, ""), "2000 MB": amountOf(2000, "MB"),
		"0.7 px": amountOf(0.7, "px"), "20°": amountOf(20, "°"), "999": amountOf(999, ""), "10 000 m": amountOf(10_000, "m"),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
