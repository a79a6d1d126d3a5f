// Package page is what interactive pages are made of: ES modules, their style,
// and the data that the map among them takes. The modules need no build step
// and load nothing but each other; map.js says how they are used.
package page

import (
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"io/fs"
	"regexp"
	"strings"
)

//go:embed *.js *.css
var files embed.FS

// Files are the modules and the style sheet, for pages that load them one by one.
func Files() fs.FS { return files }

// Style is the style sheet of the map.
func Style() string { return read("map.css") }

// Script is a module that imports nothing, for a page that holds all it needs.
type Script struct {
	Text string
	Hash string // for a content security policy: "sha256-…"
}

// In every module an import is one line at the beginning, and what is exported
// is named where it is declared.
var (
	imports = regexp.MustCompile(`(?m)^import [^;\n]* from "\./([a-z]+\.js)";\n`)
	exports = regexp.MustCompile(`(?m)^export `)
)

// Joined makes one script of modules and all that they import. Its text may
// stand between the tags of a page that is read as HTML or as XML.
func Joined(names ...string) Script {
	var b strings.Builder
	b.WriteString("//<![CDATA[\n")
	joined := map[string]bool{}
	var add func(name string)
	add = func(name string) {
		if joined[name] {
			return
		}
		joined[name] = true
		text := read(name)
		for _, m := range imports.FindAllStringSubmatch(text, -1) {
			add(m[1])
		}
		b.WriteString(exports.ReplaceAllString(imports.ReplaceAllString(text, ""), ""))
	}
	for _, name := range names {
		add(name)
	}
	b.WriteString("//]]>\n")
	sum := sha256.Sum256([]byte(b.String()))
	return Script{b.String(), "sha256-" + base64.StdEncoding.EncodeToString(sum[:])}
}

func read(name string) string {
	text, err := files.ReadFile(name)
	if err != nil {
		panic(fmt.Sprintf("the program lacks a part of itself: %v", err))
	}
	return strings.ReplaceAll(string(text), "\r\n", "\n")
}
