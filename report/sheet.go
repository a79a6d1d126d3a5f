package report

import (
	_ "embed"
	"html/template"

	pages "selvage/report/page"
)

// What all sheets share: their look, their head and foot, and the functions
// that their templates may call.

//go:embed sheet.html.tmpl
var sheetTemplate string

//go:embed sheet.css
var sheetStyle string

// script is a module that a page carries. Nothing else may run in the page: its
// policy names the hashes of its scripts.
type script struct {
	Text template.JS
	Hash string
}

func moduleOf(s pages.Script) script { return script{template.JS(s.Text), "'" + s.Hash + "'"} }

// sheetPage makes a page of a template that may use those of the sheet.
func sheetPage(name, text string) *template.Template {
	sheet := template.Must(template.New("sheet").Funcs(template.FuncMap{
		"tie":      tie,
		"clean":    clean,
		"capital":  capital,
		"where":    Where,
		"severity": SeverityName,
		"class":    severityClass,

		"withoutFlags": withoutFlags,
	}).Parse(sheetTemplate))
	return template.Must(sheet.New(name).Parse(text))
}

// SheetStyle is the style sheet that all sheets share, for pages beside them.
func SheetStyle() string { return sheetStyle }

func sheetCSS(own string) template.CSS { return template.CSS(sheetStyle + own) }
