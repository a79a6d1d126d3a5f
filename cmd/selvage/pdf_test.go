package main

import (
	"bytes"
	"encoding/xml"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Another program reads in the PDF files what the HTML pages say, in their
// order: pdftotext and pdfinfo, of Poppler.
func TestPDFAgainstPoppler(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		const message = "no cross-check against Poppler: pdftotext is not installed"
		if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
			t.Fatal(message)
		}
		t.Skip(message)
	}
	folder := t.TempDir()
	if err := runDemo(terminal{out: io.Discard, err: io.Discard}, folder); err != nil {
		t.Fatal(err)
	}
	for name, most := range map[string]int{"invented-quarry-coverage": 14, "invented-quarry-receipt": 6} {
		path := filepath.Join(folder, "job", name)
		page, err := os.ReadFile(path + ".html")
		if err != nil {
			t.Fatal(err)
		}
		file := path + ".pdf"
		got := unspaced(poppler(t, "pdftotext", "-raw", file, "-"))
		at := 0
		passages := pagePassages(t, page)
		if len(passages) < 60 {
			t.Errorf("%s: the page has %d passages", name, len(passages))
		}
		for _, passage := range passages {
			want := unspaced(passage)
			i := strings.Index(got[at:], want)
			if i < 0 {
				t.Errorf("%s: %q is not in the file, or not in its place", name, passage)
				continue
			}
			at += i
		}
		first := poppler(t, "pdftotext", "-raw", "-l", "1", file, "-")
		for _, want := range summaries[name] {
			if !strings.Contains(first, want) {
				t.Errorf("%s: the first page lacks %q", name, want)
			}
		}
		info := poppler(t, "pdfinfo", file)
		for _, want := range []string{`Producer: +Selvage \d`, `Title: +invented-quarry`, `Page size: +595.+A4`} {
			if !regexp.MustCompile(want).MatchString(info) {
				t.Errorf("%s: pdfinfo does not say %q:\n%s", name, want, info)
			}
		}
		m := regexp.MustCompile(`Pages: +(\d+)`).FindStringSubmatch(info)
		if m == nil {
			t.Fatalf("%s: pdfinfo counts no pages:\n%s", name, info)
		}
		if pages, _ := strconv.Atoi(m[1]); pages < 2 || pages > most {
			t.Errorf("%s has %d pages", name, pages)
		}
	}
}

// summaries are what the first page of a file has: verdict, checks and map.
var summaries = map[string][]string{
	"invented-quarry-coverage": {"Falls short", "Wanted and found", "GSD", "Map", "start of chainage"},
	"invented-quarry-receipt":  {"Needs an answer", "Map", "outline as received"},
}

func poppler(t *testing.T, tool string, arguments ...string) string {
	t.Helper()
	cmd := exec.Command(tool, arguments...)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil || complaint.Len() > 0 {
		t.Fatalf("%s: %v\n%s", tool, err, &complaint)
	}
	return string(out)
}

// unspaced makes texts comparable however their lines are broken, and without
// the colons that the sheet's style adds.
func unspaced(s string) string {
	return strings.NewReplacer(" ", "", "\n", "", "\t", "", "\f", "", "\r", "", "\u00a0", "", "\u202f", "", ":", "").Replace(s)
}

// pagePassages are the headings, paragraphs, items and rows of a page. What is
// for narrow screens only is none.
func pagePassages(t *testing.T, page []byte) []string {
	t.Helper()
	passage := map[string]bool{"h1": true, "h2": true, "h3": true, "p": true, "dt": true, "dd": true, "tr": true, "li": true}
	d := xml.NewDecoder(bytes.NewReader(page))
	var all []string
	var texts []*strings.Builder // of the passages that are open
	inBody, narrow := false, 0   // narrow counts elements that are for screens only
	for {
		token, err := d.Token()
		if err == io.EOF {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		switch x := token.(type) {
		case xml.StartElement:
			inBody = inBody || x.Name.Local == "body"
			if passage[x.Name.Local] {
				texts = append(texts, &strings.Builder{})
			}
			if narrow > 0 || x.Name.Local == "nav" || slices.Contains(x.Attr, xml.Attr{Name: xml.Name{Local: "class"}, Value: "narrow"}) {
				narrow++
			}
		case xml.EndElement:
			if narrow > 0 {
				narrow--
			}
			if n := len(texts); passage[x.Name.Local] && n > 0 {
				if text := strings.TrimSpace(texts[n-1].String()); text != "" && inBody {
					all = append(all, text)
				}
				texts = texts[:n-1]
			}
		case xml.CharData:
			if narrow > 0 {
				continue
			}
			for _, b := range texts {
				b.Write(x)
			}
		}
	}
}
