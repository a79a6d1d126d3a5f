package main

import (
	"go/ast"
	"go/build"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const module = "selvage/"

// arrows says which packages each package may import: data flows one way, from
// bytes to boundary, plane, coverage and report. A module from elsewhere stands
// for the packages below it too; the standard library has its own rule.
var arrows = map[string][]string{
	"boundary/finding":   {},
	"boundary/crs":       {"boundary/finding", orbPath, "github.com/wroge/wgs84"},
	"boundary/plane":     {orbPath, "github.com/tidwall/geodesic"},
	"boundary":           {"boundary/crs", "boundary/finding", "boundary/plane", orbPath, "github.com/twpayne/go-kml/v3", normPath},
	"coverage/audittest": {"boundary/finding", "coverage", "coverage/photo", orbPath},
	"coverage/ifd":       {},
	"coverage/sequence":  {orbPath},
	"coverage/terrain":   {"boundary/crs", "boundary/finding", "boundary/plane", orbPath},
	"coverage/views":     {"boundary/plane", orbPath},
	"coverage/photo":     {"boundary/finding", "coverage/ifd", orbPath, normPath},
	"coverage":           {"boundary/finding", "boundary/plane", "coverage/photo", "coverage/sequence", "coverage/terrain", "coverage/views", orbPath},
	"report":             {"boundary", "boundary/finding", "boundary/plane", "coverage", "coverage/photo", "coverage/sequence", "report/geotiff", "report/page", "report/texts", orbPath, "github.com/twpayne/go-kml/v3", "golang.org/x/image", "golang.org/x/text"},
	"report/compare":     {"boundary", "boundary/finding", "boundary/plane", "coverage", "report", orbPath},
	"report/geotiff":     {"coverage/ifd"},
	"report/page":        {orbPath},
	browserTest:          {"github.com/chromedp", "github.com/gobwas/ws"},
	"report/pdf":         {"report/texts", "codeberg.org/go-pdf/fpdf", "golang.org/x/image"},
	"report/texts":       {"golang.org/x/text"},
	"report/verify":      {"boundary/finding", "report", "report/compare"},
	"cmd/selvage/desk":   {"boundary", "boundary/finding", "coverage/photo", "report", "report/page", "golang.org/x/sys"},
	"cmd/selvage/demo":   {"boundary/plane", "coverage/photo", orbPath},
}

const (
	orbPath  = "github.com/paulmach/orb"
	normPath = "golang.org/x/text/unicode/norm"

	// browserTest is imported by tests alone, none of whose imports are looked
	// at; that it is not linked, TestOnlyTheDeskServes says too.
	browserTest = "report/page/browsertest"
)

// outside is what only cmd/selvage and its desk may do: open files, serve a page
// and start programs.
var outside = []string{"os", "os/exec", "io/ioutil", "log", "log/slog", "net", "net/http", "flag", "syscall"}

func TestArrows(t *testing.T) {
	root := filepath.Join("..", "..")
	seen := map[string]bool{}
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || !entry.IsDir() {
			return err
		}
		if name := entry.Name(); path != root && (strings.HasPrefix(name, ".") || name == "testdata") {
			return fs.SkipDir
		}
		pkg, err := build.ImportDir(path, 0)
		if _, empty := err.(*build.NoGoError); empty {
			return nil
		} else if err != nil {
			return err
		}
		relative, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		name := filepath.ToSlash(relative)
		if name == "cmd/selvage" {
			return nil
		}
		seen[name] = true
		check(t, name, pkg)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for name := range arrows {
		if !seen[name] {
			t.Errorf("the package %s is gone", name)
		}
	}
}

func check(t *testing.T, name string, pkg *build.Package) {
	allowed, known := arrows[name]
	if !known {
		t.Errorf("the package %s has no arrows", name)
		return
	}
	for _, path := range pkg.Imports {
		if slices.Contains(outside, path) && name != "cmd/selvage/desk" && name != browserTest {
			t.Errorf("%s imports %s; only cmd/selvage opens files and prints", name, path)
		}
		first, _, _ := strings.Cut(path, "/")
		if own, is := strings.CutPrefix(path, module); is {
			path = own
		} else if !strings.Contains(first, ".") {
			continue // the standard library
		}
		if !slices.ContainsFunc(allowed, func(a string) bool {
			return path == a || strings.Contains(a, ".") && strings.HasPrefix(path, a+"/")
		}) {
			t.Errorf("%s may not import %s", name, path)
		}
	}
	for _, file := range pkg.GoFiles {
		for _, call := range prints(t, filepath.Join(pkg.Dir, file)) {
			t.Errorf("%s: %s; only cmd/selvage prints", name, call)
		}
	}
}

// prints finds calls that write to standard output or error.
func prints(t *testing.T, path string) []string {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, path, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	ast.Inspect(file, func(n ast.Node) bool {
		call, ok := n.(*ast.CallExpr)
		if !ok {
			return true
		}
		switch f := call.Fun.(type) {
		case *ast.SelectorExpr:
			if x, ok := f.X.(*ast.Ident); ok && x.Name == "fmt" && strings.HasPrefix(f.Sel.Name, "Print") {
				found = append(found, set.Position(call.Pos()).String()+": fmt."+f.Sel.Name)
			}
		case *ast.Ident:
			if f.Name == "print" || f.Name == "println" {
				found = append(found, set.Position(call.Pos()).String()+": "+f.Name)
			}
		}
		return true
	})
	return found
}
