package main

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"selvage/coverage/photo"
	"selvage/report"
)

// source is a file that may be a photo, and its name in what people read.
type source struct{ path, name string }

// search is what a look through files and folders found.
type search struct {
	photos []source
	tables []source
	hidden int            // files and folders whose name begins with a dot
	others map[string]int // files in folders that are no JPEG, by extension
}

// find walks the folders among the arguments in the order of their names.
func find(arguments []string) (*search, error) {
	s := &search{others: map[string]int{}}
	labels := map[string]int{}
	for _, argument := range arguments {
		labels[label(argument)]++
	}
	for _, argument := range arguments {
		name := label(argument)
		if labels[name] > 1 {
			name = filepath.ToSlash(argument)
		}
		info, err := os.Stat(argument)
		switch {
		case err != nil:
			return nil, err
		case info.IsDir():
			err = s.walk(argument, name)
		default:
			err = s.named(source{argument, name})
		}
		if err != nil {
			return nil, err
		}
	}
	return s, nil
}

// label is the last part of a path, also of "." and "..".
func label(path string) string {
	if whole, err := filepath.Abs(path); err == nil {
		path = whole
	}
	return filepath.Base(path)
}

func (s *search) walk(folder, name string) error {
	return filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if path == folder {
			return nil
		}
		if strings.HasPrefix(entry.Name(), ".") {
			s.hidden++
			if entry.IsDir() {
				return fs.SkipDir
			}
			return nil
		}
		if entry.IsDir() {
			return nil
		}
		if !isPhotoName(path) {
			s.others[cmp.Or(strings.ToLower(filepath.Ext(path)), "without extension")]++
			return nil
		}
		within, err := filepath.Rel(folder, path)
		if err != nil {
			return err
		}
		s.photos = append(s.photos, source{path, name + "/" + filepath.ToSlash(within)})
		return nil
	})
}

// named sorts a file that the user named by itself: what neither is a JPEG
// image nor is called one is taken as a positions table.
func (s *search) named(file source) error {
	head, err := readAtMost(file.path, 1)
	if err != nil {
		return err
	}
	if isPhotoName(file.path) || bytes.HasPrefix(head, []byte{0xFF, 0xD8}) {
		s.photos = append(s.photos, file)
	} else {
		s.tables = append(s.tables, file)
	}
	return nil
}

func isPhotoName(path string) bool {
	extension := strings.ToLower(filepath.Ext(path))
	return extension == ".jpg" || extension == ".jpeg"
}

// passedOver says what was not looked into, "" when that is nothing.
func (s *search) passedOver() string {
	var parts []string
	if s.hidden > 0 {
		parts = append(parts, report.Count(s.hidden, "hidden file or folder", "hidden files or folders"))
	}
	var extensions []string
	for e := range s.others {
		extensions = append(extensions, e)
	}
	slices.Sort(extensions)
	for _, e := range extensions {
		parts = append(parts, report.Count(s.others[e], "file "+e, "files "+e))
	}
	return strings.Join(parts, ", ")
}

// take is the photos of an audit as they were read.
type take struct {
	photos  []photo.Photo
	leftOut []photo.LeftOut
	inputs  []report.Input
}

// read reads the head of every photo, and every positions table.
func (s *search) read(progress func()) (*take, error) {
	t := &take{}
	if len(s.photos) > 0 {
		t.readHeads(s.photos, progress)
	}
	for _, table := range s.tables {
		data, err := readAtMost(table.path, mostTable)
		if err != nil {
			return nil, err
		}
		photos, leftOut, err := photo.ReadPositions(table.name, bytes.NewReader(data))
		if err != nil {
			return nil, err
		}
		t.photos = append(t.photos, photos...)
		t.leftOut = append(t.leftOut, leftOut...)
		t.inputs = append(t.inputs, report.Input{Role: "positions table", Name: table.name, SHA256: hash(data)})
	}
	return t, nil
}

// mostTable is more than a positions table may have, so that its reader can
// tell.
const mostTable = 128 << 20

// shot is what came of reading one photo.
type shot struct {
	photo photo.Photo
	err   error
	hash  string // of the head
}

// readers is how many photos are read at a time; more only makes a card slower.
const readers = 2

func (t *take) readHeads(sources []source, progress func()) {
	shots := make([]shot, len(sources))
	var each sync.WaitGroup
	for first := range readers {
		each.Go(func() {
			head := make([]byte, photo.HeadBytes)
			for i := first; i < len(sources); i += readers {
				shots[i] = readHead(sources[i], head)
				progress()
			}
		})
	}
	each.Wait()

	for i, s := range shots {
		if s.err != nil {
			t.leftOut = append(t.leftOut, photo.LeftOut{File: sources[i].name, Reason: s.err.Error()})
			continue
		}
		t.photos = append(t.photos, s.photo)
	}
	t.inputs = append(t.inputs, report.Input{
		Role: "photos", Name: report.Count(len(sources), "photo", "photos"), SHA256: combined(sources, shots),
	})
}

func readHead(file source, head []byte) shot {
	f, err := os.Open(file.path)
	if err != nil {
		return shot{err: fmt.Errorf("could not be read: %w", plain(err))}
	}
	defer f.Close()
	n, err := f.ReadAt(head, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return shot{err: fmt.Errorf("could not be read: %w", plain(err))}
	}
	p, err := photo.Decode(file.name, head[:n])
	return shot{p, err, hash(head[:n])}
}

// plain is an error without the path, which stands beside it anyway.
func plain(err error) error {
	var fault *fs.PathError
	if errors.As(err, &fault) {
		return fault.Err
	}
	return err
}

// headHash says what combined hashes.
const headHash = "SHA-256 of a list with one line a photo, in the order of their names: " +
	"the SHA-256 of the file's first 131,072 bytes, two spaces, the name"

// combined is one hash for all photos: that of the list which sha256sum would
// print for the heads of the files, sorted by name.
func combined(sources []source, shots []shot) string {
	lines := make([]string, len(sources))
	order := make([]int, len(sources))
	for i := range sources {
		order[i] = i
		lines[i] = shots[i].hash + "  " + sources[i].name + "\n"
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(sources[a].name, sources[b].name), cmp.Compare(lines[a], lines[b]))
	})
	var list strings.Builder
	for _, i := range order {
		list.WriteString(lines[i])
	}
	return hash([]byte(list.String()))
}

func hash(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
