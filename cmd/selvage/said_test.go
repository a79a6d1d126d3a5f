package main

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"selvage/report"
)

var verbs = regexp.MustCompile(`%[-+# 0]*[\d.]*[a-zA-Z%]`)

// TestWhatIsSaidIsLiteral holds every call of finding.Say: its format is a
// literal with a verb for each argument, and where it tells somebody to ask the
// client, the client is told something else.
func TestWhatIsSaidIsLiteral(t *testing.T) {
	root := filepath.Join("..", "..")
	calls := 0
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() && path != root && strings.HasPrefix(entry.Name(), ".") {
			return fs.SkipDir
		}
		if entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		files := token.NewFileSet()
		file, err := parser.ParseFile(files, path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		local := file.Name.Name == "finding"
		told := map[ast.Expr]bool{}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			switch {
			case ofFinding(call, local, "Tell"):
				told[call.Args[0]] = true
			case ofFinding(call, local, "Say"):
				calls++
				at := files.Position(call.Pos())
				literal, ok := call.Args[0].(*ast.BasicLit)
				if !ok {
					t.Errorf("%s: the format is no literal", at)
					return true
				}
				format, err := strconv.Unquote(literal.Value)
				if err != nil {
					t.Fatal(err)
				}
				wanted := 0
				for _, verb := range verbs.FindAllString(format, -1) {
					if verb != "%%" {
						wanted++
					}
				}
				if given := len(call.Args) - 1; given != wanted {
					t.Errorf("%s: %q takes %d arguments and is given %d", at, format, wanted, given)
				}
				if strings.Contains(strings.ToLower(format), "ask the client") && !told[call] && !strings.Contains(format, "--") {
					t.Errorf("%s: the client reads %q", at, format)
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if calls < 200 {
		t.Errorf("only %d calls were found", calls)
	}
}

// ofFinding reports whether a call is of a function of the package finding.
func ofFinding(call *ast.CallExpr, local bool, name string) bool {
	switch f := call.Fun.(type) {
	case *ast.Ident:
		return local && f.Name == name
	case *ast.SelectorExpr:
		from, ok := f.X.(*ast.Ident)
		return ok && from.Name == "finding" && f.Sel.Name == name
	}
	return false
}

// What files are for is data here and said in report, so that each has to be in
// the list of texts.
func TestRolesAreListed(t *testing.T) {
	list, err := os.ReadFile(filepath.FromSlash("../../report/texts/en.json"))
	if err != nil {
		t.Fatal(err)
	}
	var texts map[string]json.RawMessage
	if err := json.Unmarshal(list, &texts); err != nil {
		t.Fatal(err)
	}
	roles := []string{clientOfJob, positionsTable}
	for _, d := range deliverables {
		roles = append(roles, d.role)
	}
	data, err := os.ReadFile(filepath.Join(demoJob(t), "invented-quarry-coverage.json"))
	if err != nil {
		t.Fatal(err)
	}
	var figures struct{ Inputs []report.Input }
	if err := json.Unmarshal(data, &figures); err != nil || len(figures.Inputs) == 0 {
		t.Fatalf("%v: %v", err, figures.Inputs)
	}
	for _, in := range figures.Inputs {
		roles = append(roles, in.Role)
	}
	for _, role := range roles {
		if texts[role] == nil {
			t.Errorf("%q is not in the list of texts", role)
		}
	}
}
