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
// first KML in the archive's order, else the first KMZ in it, which is read in
// the same way but may hold no further one. Nothing else is unzipped, and
// nothing is written anywhere, so the names inside can do no harm.
func readKMZ(name string, data []byte, o Options) (*reading, string, error) {
	r, inner, err := readArchive(name, data, o, true)
	return r, "KMZ (" + inner + ")", err
}

// readArchive returns the name of the file that was read, after that of the
// inner archive if it lies in one.
func readArchive(name string, data []byte, o Options, nested bool) (r *reading, inner string, err error) {
	fail := func(format string, args ...any) (*reading, string, error) {
		return nil, "", &ReadError{finding.Place{File: name}, fmt.Sprintf(format, args...)}
	}
	archive, err := openArchive(data)
	if err != nil {
		return fail("the ZIP archive %v", err)
	}
	main, others := mainKML(archive)
	if main == nil {
		return fail("this ZIP archive holds no KML file%s", contents(archive))
	}
	text, err := unzip(main, o.Limits)
	if err != nil {
		return fail("%s in the archive %v", quote(main.Name), err)
	}
	o.Limits.UnzippedBytes -= int64(len(text))

	inner = printable(main.Name, 80)
	place := name + "/" + inner
	switch {
	case isZip(text) && nested:
		var deeper string
		if r, deeper, err = readArchive(place, text, o, false); err != nil {
			return nil, "", err
		}
		inner += ", " + deeper
	case isZip(text):
		return fail("%s in the archive is an archive again; one inside another is as deep as is read", quote(main.Name))
	default:
		var format string
		if r, format, err = readText(place, text, o); err != nil {
			return nil, "", err
		}
		if format != "KML" {
			return fail("%s in the archive is %s, not KML", quote(main.Name), format)
		}
	}
	if len(others) > 0 {
		r.notes = append(r.notes, finding.Finding{
			Code: finding.SeveralKML, Severity: finding.NeedsAnswer, Place: finding.Place{File: name},
			Text: finding.Sentences(finding.Say("The archive holds %s KML files. Only %s is read; left unread: %s.",
				finding.Whole(len(others)+1), quote(main.Name), names(others)), askComplete),
			Amount: float64(len(others) + 1), Unit: "files",
		})
	}
	return r, inner, nil
}

var askComplete = finding.Tell(finding.Say("Ask the client whether the area is complete."), finding.Say("Please say whether the area is complete."))

// mostFiles is how many files an archive may list, each of which takes memory.
const mostFiles = 100_000

// openArchive lists the files of an archive, whose names may be of any kind. Its
// errors continue a sentence about the archive.
func openArchive(data []byte) (*zip.Reader, error) {
	if bytes.Count(data, []byte("PK\x01\x02")) > mostFiles {
		return nil, fmt.Errorf("holds more than the limit of %d files", mostFiles)
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, errors.New("is damaged or cut off")
	}
	return archive, nil
}

// mainKML picks the file to read, nil when there is none, and names those that
// could have been meant as well.
func mainKML(archive *zip.Reader) (main *zip.File, others []string) {
	rank := func(f *zip.File) int {
		switch {
		case strings.EqualFold(f.Name, "doc.kml"):
			return 3
		case hasExtension(f.Name, ".kml"):
			return 2
		case hasExtension(f.Name, ".kmz"):
			return 1
		}
		return 0
	}
	for _, f := range archive.File {
		switch {
		case rank(f) == 0:
			continue
		case main == nil:
			main = f
		case rank(f) > rank(main):
			others = append([]string{main.Name}, others...)
			main = f
		default:
			others = append(others, f.Name)
		}
	}
	return main, others
}

// hasExtension reports whether a name in an archive ends in ext, leaving
// out the shadow files that some systems add.
func hasExtension(name, ext string) bool {
	name = strings.ReplaceAll(name, `\`, "/")
	return strings.EqualFold(path.Ext(name), ext) &&
		!strings.HasPrefix(path.Base(name), "._") &&
		!strings.HasPrefix(name, "__MACOSX/")
}

// unzip returns the text of f. Its errors continue a sentence about f. What the
// archive says of the length is not believed: the text is counted before there
// is room made for it.
func unzip(f *zip.File, lim Limits) ([]byte, error) {
	if f.Flags&1 != 0 {
		return nil, errors.New("is locked with a password")
	}
	length, err := unzipTo(io.Discard, f, lim.UnzippedBytes+1)
	switch {
	case length > lim.UnzippedBytes:
		return nil, fmt.Errorf("unzips to more than the limit of %s (--limit unzipped)", megabytes(lim.UnzippedBytes))
	case err != nil:
		return nil, err
	case length == 0:
		return nil, errors.New("is empty")
	}
	text := bytes.NewBuffer(make([]byte, 0, length+bytes.MinRead))
	_, err = unzipTo(text, f, length)
	return text.Bytes(), err
}

// unzipTo writes as much of f, and tells how much it was.
func unzipTo(w io.Writer, f *zip.File, most int64) (int64, error) {
	r, err := f.Open()
	if errors.Is(err, zip.ErrAlgorithm) {
		return 0, errors.New("is compressed in a way that is not read here; plain ZIP is")
	}
	if err != nil {
		return 0, errors.New("is damaged")
	}
	defer r.Close()
	length, err := io.Copy(w, io.LimitReader(r, most))
	if err != nil {
		return length, errors.New("is damaged or cut off")
	}
	return length, nil
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
	return fmt.Sprintf("; it holds %s", names(files))
}

// names lists a few file names.
func names(files []string) finding.Text {
	var words []finding.Text
	for i, f := range files {
		if i == 5 {
			words = append(words, finding.Say("%s more", finding.Whole(len(files)-i)))
			break
		}
		words = append(words, finding.Say("%s", quote(f)))
	}
	return finding.And(words)
}
