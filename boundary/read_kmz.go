package boundary

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"selvage/boundary/finding"
)

// readKMZ reads the main KML of a zip archive: doc.kml at its root, else the
// first KML in the archive's order. Nothing else is unzipped, and nothing is
// written anywhere, so the names inside can do no harm.
func readKMZ(name string, data []byte, lim Limits) (*reading, string, error) {
	fail := func(format string, args ...any) (*reading, string, error) {
		return nil, "", &ReadError{finding.Place{File: name}, fmt.Sprintf(format, args...)}
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return fail("the ZIP archive is damaged or cut off")
	}
	var main *zip.File
	var others []string
	for _, f := range archive.File {
		if !isKML(f.Name) {
			continue
		}
		switch {
		case main == nil:
			main = f
		case strings.EqualFold(f.Name, "doc.kml") && !strings.EqualFold(main.Name, "doc.kml"):
			others = append([]string{main.Name}, others...)
			main = f
		default:
			others = append(others, f.Name)
		}
	}
	if main == nil {
		return fail("this ZIP archive holds no KML file%s", contents(archive))
	}

	text, err := unzip(main, lim)
	if err != nil {
		return fail("%s in the archive %v", quote(main.Name), err)
	}
	inner := name + "/" + printable(main.Name, 80)
	r, format, err := readText(inner, text, lim)
	switch {
	case err != nil:
		return nil, "", err
	case format != "KML":
		return fail("%s in the archive is %s, not KML", quote(main.Name), format)
	}
	if len(others) > 0 {
		r.unread = finding.Finding{
			Code: finding.SeveralKML, Severity: finding.NeedsAnswer, Place: finding.Place{File: name},
			Text: fmt.Sprintf("The archive holds %d KML files. Only %s is read; left unread: %s. Ask the client whether the area is complete.",
				len(others)+1, quote(main.Name), names(others)),
			Amount: float64(len(others) + 1), Unit: "files",
		}
	}
	return r, "KMZ (" + printable(main.Name, 80) + ")", nil
}

// isKML reports whether a name in an archive is that of a KML file, leaving
// out the shadow files that some systems add.
func isKML(name string) bool {
	name = strings.ReplaceAll(name, `\`, "/")
	return strings.EqualFold(path.Ext(name), ".kml") &&
		!strings.HasPrefix(path.Base(name), "._") &&
		!strings.HasPrefix(name, "__MACOSX/")
}

// unzip returns the text of f. Its errors continue a sentence about f.
func unzip(f *zip.File, lim Limits) ([]byte, error) {
	if f.Flags&1 != 0 {
		return nil, errors.New("is locked with a password")
	}
	r, err := f.Open()
	if errors.Is(err, zip.ErrAlgorithm) {
		return nil, errors.New("is compressed in a way that is not read here; plain ZIP is")
	}
	if err != nil {
		return nil, errors.New("is damaged")
	}
	defer r.Close()
	text, err := io.ReadAll(io.LimitReader(r, lim.UnzippedBytes+1))
	switch {
	case int64(len(text)) > lim.UnzippedBytes:
		return nil, fmt.Errorf("unzips to more than the limit of %s", megabytes(lim.UnzippedBytes))
	case err != nil:
		return nil, errors.New("is damaged or cut off")
	case len(text) == 0:
		return nil, errors.New("is empty")
	}
	return text, nil
}

// contents continues a sentence about an archive with what it holds.
func contents(archive *zip.Reader) string {
	var files []string
	for _, f := range archive.File {
		if !strings.HasSuffix(f.Name, "/") {
			files = append(files, f.Name)
		}
	}
	if len(files) == 0 {
		return "; it is empty"
	}
	return "; it holds " + names(files)
}

// names lists a few file names.
func names(files []string) string {
	var words []string
	for i, f := range files {
		if i == 5 {
			words = append(words, fmt.Sprintf("%d more", len(files)-i))
			break
		}
		words = append(words, quote(f))
	}
	return enumerate(words)
}
