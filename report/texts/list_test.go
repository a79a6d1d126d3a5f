package texts

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"text/template/parse"

	"selvage/boundary/finding"
)

var update = flag.Bool("update", false, "write en.json anew")

// TestListIsUpToDate holds en.json against the code, the templates and the
// modules of pages.
func TestListIsUpToDate(t *testing.T) {
	l := gather(t)
	var want bytes.Buffer
	e := json.NewEncoder(&want)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(l.all()); err != nil {
		t.Fatal(err)
	}
	for _, fault := range l.faults {
		t.Error(fault)
	}
	if *update {
		if err := os.WriteFile("en.json", want.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile("en.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(bytes.ReplaceAll(got, []byte("\r\n"), []byte("\n")), want.Bytes()) {
		t.Error("en.json is not what the code says; write it anew with: go generate ./report/texts")
	}
	// The list is a catalogue itself, which changes nothing.
	if _, err := Read("en", want.Bytes()); err != nil {
		t.Error(err)
	}
}

// TestLanguagesSayWhatIsSaid finds texts that nothing says any more, or that are
// not yet in a language.
func TestLanguagesSayWhatIsSaid(t *testing.T) {
	all := english()
	for _, name := range Languages() {
		c, err := Of(name)
		if err != nil {
			t.Error(err)
			continue
		}
		if c == nil {
			continue
		}
		for key := range c.texts {
			if _, known := all[key]; !known {
				t.Errorf("%s.json: nothing says “%s”", name, key)
			}
		}
		for key := range all {
			if _, known := c.texts[key]; !known {
				t.Logf("%s.json: “%s” stays English", name, key)
			}
		}
	}
}

// list is texts in the making.
type list struct {
	texts  map[string]Text
	files  map[string][]string
	faults []string
}

func (l *list) add(file, key string, t Text) {
	if old, known := l.texts[key]; known && !maps.Equal(old.Forms, t.Forms) {
		l.faults = append(l.faults, fmt.Sprintf("%s: “%s” is said in two ways", file, key))
	}
	l.texts[key] = t
	if !slices.Contains(l.files[key], file) {
		l.files[key] = append(l.files[key], file)
	}
}

func (l *list) say(file, key string) {
	l.add(file, key, Text{Text: shown(key)})
}

func (l *list) count(file, one, many string) {
	l.add(file, counted(many), Text{Forms: map[string]string{"one": shown(counted(one)), "other": shown(counted(many))}})
}

func (l *list) all() map[string]Text {
	for key, t := range l.texts {
		slices.Sort(l.files[key])
		t.In = strings.Join(l.files[key], " ")
		l.texts[key] = t
	}
	return l.texts
}

// stillEnglish are lists and comparisons for a terminal, and the desk.
var stillEnglish = regexp.MustCompile(`^(report/(compare|verify)/|report/photos_text\.go|cmd/selvage/[^/]*/)`)

// gather reads what speaks to people: the sheets and the findings.
func gather(t *testing.T) *list {
	t.Helper()
	l := &list{texts: map[string]Text{}, files: map[string][]string{}}
	root := os.DirFS("../..")
	for _, folder := range []string{"report", "boundary", "coverage", "cmd/selvage"} {
		err := fs.WalkDir(root, folder, func(name string, entry fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			if entry.IsDir() || stillEnglish.MatchString(name) {
				return nil
			}
			data, err := fs.ReadFile(root, name)
			switch {
			case err != nil:
				return err
			case strings.HasSuffix(name, "_test.go"):
				return nil
			case strings.HasSuffix(name, ".go"):
				return l.code(name, data)
			case strings.HasSuffix(name, ".tmpl"):
				return l.template(name, string(data))
			case strings.HasSuffix(name, ".js"):
				l.module(name, string(data))
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, e := range finding.Table {
		l.say("boundary/finding", e.Meaning)
	}
	return l
}

// speakers are the functions whose arguments are texts, and how many of them.
var speakers = map[string]int{"Say": 1, "Count": 2, "Counted": 2, "more": 2, "SayAll": -1, "heads": -1, "markup": 1}

// handsOn are functions besides the speakers that say what they are given: parts
// of a finding, and a count in an error.
var handsOn = []string{"report/units.go text", "report/units.go said", "boundary/ring.go count"}

// code finds what Go code says.
func (l *list) code(name string, data []byte) error {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, name, data, 0)
	if err != nil {
		return err
	}
	for _, d := range file.Decls {
		if f, is := d.(*ast.FuncDecl); is && (speakers[f.Name.Name] != 0 || slices.Contains(handsOn, name+" "+f.Name.Name)) {
			continue
		}
		ast.Inspect(d, func(n ast.Node) bool {
			call, is := n.(*ast.CallExpr)
			if !is {
				return true
			}
			speaker := calledIn(call, file.Name.Name)
			most := speakers[speaker]
			arguments := call.Args
			if most == 2 {
				arguments = arguments[min(1, len(arguments)):]
			}
			if most == 0 || len(arguments) < most {
				return true
			}
			if most > 0 {
				arguments = arguments[:most]
			}
			var said []string
			for _, a := range arguments {
				text, literal := textOf(a)
				if !literal {
					l.faults = append(l.faults, fmt.Sprintf("%s: what %s says is no literal", set.Position(a.Pos()), speaker))
					return true
				}
				said = append(said, text)
			}
			if most == 2 {
				l.count(name, said[0], said[1])
				return true
			}
			for _, text := range said {
				if speaker == "heads" {
					text = shown(text)
				}
				l.say(name, text)
			}
			return true
		})
	}
	return nil
}

// calledIn is the name of what is called from a package if it may be a speaker.
// The program itself speaks English, but for the findings that it makes.
func calledIn(call *ast.CallExpr, pkg string) string {
	switch f := call.Fun.(type) {
	case *ast.SelectorExpr:
		if from, _ := f.X.(*ast.Ident); pkg != "main" || from != nil && from.Name == "finding" {
			return f.Sel.Name
		}
	case *ast.Ident:
		if pkg == "finding" {
			return f.Name
		}
	}
	return ""
}

// textOf is the value of a literal, or of a sum of them.
func textOf(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		text, err := strconv.Unquote(e.Value)
		return text, err == nil && e.Kind == token.STRING
	case *ast.BinaryExpr:
		a, first := textOf(e.X)
		b, second := textOf(e.Y)
		return a + b, first && second && e.Op == token.ADD
	}
	return "", false
}

// template finds what a template says.
func (l *list) template(name, text string) error {
	tree := parse.New(name)
	tree.Mode = parse.SkipFuncCheck
	trees := map[string]*parse.Tree{}
	if _, err := tree.Parse(text, "", "", trees); err != nil {
		return err
	}
	for _, t := range trees {
		l.node(name, t.Root)
	}
	return nil
}

func (l *list) node(name string, n parse.Node) {
	branch := func(b *parse.BranchNode) {
		l.node(name, b.Pipe)
		l.node(name, b.List)
		if b.ElseList != nil {
			l.node(name, b.ElseList)
		}
	}
	switch n := n.(type) {
	case *parse.ListNode:
		for _, child := range n.Nodes {
			l.node(name, child)
		}
	case *parse.IfNode:
		branch(&n.BranchNode)
	case *parse.RangeNode:
		branch(&n.BranchNode)
	case *parse.WithNode:
		branch(&n.BranchNode)
	case *parse.ActionNode:
		l.node(name, n.Pipe)
	case *parse.PipeNode:
		for _, c := range n.Cmds {
			l.node(name, c)
		}
	case *parse.CommandNode:
		if f, is := n.Args[0].(*parse.IdentifierNode); is && f.Ident == "say" {
			if s, literal := argument(n, 1).(*parse.StringNode); literal {
				l.say(name, s.Text)
			} else {
				l.faults = append(l.faults, fmt.Sprintf("%s: what %s says is no literal", name, n))
			}
		}
		for _, a := range n.Args {
			l.node(name, a)
		}
	}
}

func argument(n *parse.CommandNode, i int) parse.Node {
	if i < len(n.Args) {
		return n.Args[i]
	}
	return nil
}

var said = regexp.MustCompile(`\bsay\(("(?:[^"\\]|\\.)*")?`)

// module finds what an ES module says. Only say.js may hand on what it was given.
func (l *list) module(name, text string) {
	for _, m := range said.FindAllStringSubmatch(text, -1) {
		if path.Base(name) == "say.js" {
			continue
		}
		key, err := strconv.Unquote(m[1])
		if err != nil {
			l.faults = append(l.faults, name+": say takes a text in double quotes")
			continue
		}
		l.say(name, key)
	}
}
