package report

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"strings"
	"time"
)

// What all sheets share: their look, their head and foot, and the functions
// that their templates may call.

//go:embed sheet.html.tmpl
var sheetTemplate string

//go:embed sheet.css
var sheetStyle string

//go:embed page/table.js
var tableScript string

// script is a module that a page carries. Nothing else may run in the page: its
// policy names the hashes of its scripts.
type script struct {
	Text template.JS
	Hash string
}

// moduleOf marks a text so that the page is well-formed as XML too.
func moduleOf(text string) script {
	// A browser hashes what it read, with its own ends of lines.
	text = "//<![CDATA[\n" + strings.ReplaceAll(text, "\r\n", "\n") + "//]]>\n"
	sum := sha256.Sum256([]byte(text))
	return script{template.JS(text), "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"}
}

// sheetPage makes a page of a template that may use those of the sheet.
func sheetPage(name, text string) *template.Template {
	sheet := template.Must(template.New("sheet").Funcs(template.FuncMap{
		"tie":      tie,
		"clean":    clean,
		"number":   Number,
		"where":    Where,
		"severity": SeverityName,
		"class":    severityClass,
	}).Parse(sheetTemplate))
	return template.Must(sheet.New(name).Parse(text))
}

func sheetCSS(own string) template.CSS { return template.CSS(sheetStyle + own) }

func date(t time.Time) string { return t.Format("2 January 2006, 15:04 MST") }
