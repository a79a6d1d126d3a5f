package report

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"html/template"
	"io"

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
	sheet := template.Must(template.New("sheet").Funcs(sheetFunctions(Locale{})).Parse(sheetTemplate))
	return template.Must(sheet.New(name).Parse(text))
}

func sheetFunctions(l Locale) template.FuncMap {
	return template.FuncMap{
		"tie":      tie,
		"clean":    Clean,
		"capital":  capital,
		"class":    severityClass,
		"role":     l.role,
		"say":      l.markup,
		"lang":     l.texts.Language,
		"where":    l.where,
		"severity": l.severityName,

		"translations": l.translations,
		"withoutFlags": withoutFlags,
	}
}

// translations are what the scripts of a page say in another language.
func (l Locale) translations() (template.JS, error) {
	said := l.texts.Of("report/page/")
	if len(said) == 0 {
		return "", nil
	}
	data, err := json.Marshal(said) // with <, > and & as escapes
	return template.JS(data), err
}

// writeSheet writes a page in the language of its readers, or nothing.
func writeSheet(w io.Writer, sheet *template.Template, l Locale, page any) error {
	sheet, err := sheet.Clone()
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := sheet.Funcs(sheetFunctions(l)).Execute(&out, page); err != nil {
		return err
	}
	_, err = out.WriteTo(w)
	return err
}

// SheetStyle is the style sheet that all sheets share, for pages beside them.
func SheetStyle() string { return sheetStyle }

func sheetCSS(own string) template.CSS { return template.CSS(sheetStyle + own) }
