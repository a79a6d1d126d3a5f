package report

import (
	"embed"
	"io/fs"
)

//go:embed sheet.css
var pageFiles embed.FS

func PageFiles() fs.FS { return pageFiles }
