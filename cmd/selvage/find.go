package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
)

// source is a file that may be a photo, and its name in what people read.
type source struct{ path, name string }

func paths(sources []source) []string {
	all := make([]string, len(sources))
	for i, s := range sources {
		all[i] = s.path
	}
	return all
}

// search is what a look through files and folders found.
type search struct {
	photos  []source
	tables  []source
	unread  []photo.LeftOut // folders and files that the system does not let one read
	hidden  int             // files and folders whose name begins with a dot
	again   int             // folders that were met before, through a link or another argument
	special int             // pipes, sockets and devices
	others  map[string]int  // files in folders that are no photos, by extension
	walked  []fs.FileInfo   // folders
	head    int             // bytes that may be read of a photo beyond its first part; 0 is as usual
}

// extensions are those of the formats that are read.
var extensions = map[string]bool{
	".jpg": true, ".jpeg": true, ".tif": true, ".tiff": true, ".dng": true,
	".heic": true, ".heif": true, ".hif": true, ".png": true,
}

const photoFormats = "JPEG, TIFF, DNG, HEIF or PNG"

func isPhotoName(path string) bool { return extensions[strings.ToLower(filepath.Ext(path))] }

// isPhotoHead tells photos by how they begin.
func isPhotoHead(head []byte) bool {
	for _, magic := range []string{"\xFF\xD8", "II*\x00", "MM\x00*", "\x89PNG\r\n\x1A\n"} {
		if bytes.HasPrefix(head, []byte(magic)) {
			return true
		}
	}
	return len(head) >= 8 && string(head[4:8]) == "ftyp"
}

// find walks the folders among the arguments in the order of their names. It
// follows links, and enters each folder once, whatever the way to it.
func find(ctx context.Context, arguments []source) (*search, error) {
	s := &search{others: map[string]int{}}
	for _, argument := range arguments {
		info, err := os.Stat(argument.path)
		if err != nil {
			return nil, err
		}
		if info.IsDir() {
			s.walk(ctx, argument.path, argument.name, info)
		} else if err := s.named(argument, info); err != nil {
			return nil, err
		}
	}
	if ctx.Err() != nil {
		return nil, stopped{}
	}
	return s, nil
}

// named names arguments by the last part of their paths, or by as many as it
// takes to tell them apart.
func named(arguments []string) []source {
	sharing := map[string]map[string]bool{} // the paths that end alike
	for _, argument := range arguments {
		for end := range ends(argument) {
			if sharing[end] == nil {
				sharing[end] = map[string]bool{}
			}
			sharing[end][fromRoot(argument)] = true
		}
	}
	sources := make([]source, len(arguments))
	for i, argument := range arguments {
		for end := range ends(argument) {
			if sources[i] = (source{argument, end}); len(sharing[end]) == 1 {
				break
			}
		}
	}
	return sources
}

// ends yields the last part of a path, the last two parts, and so on.
func ends(argument string) iter.Seq[string] {
	return func(yield func(string) bool) {
		all := strings.TrimRight(fromRoot(argument), "/")
		for i := len(all) - 1; i > 0; i-- {
			if all[i-1] == '/' && !yield(all[i:]) {
				return
			}
		}
		yield(cmp.Or(all, "/"))
	}
}

// fromRoot is a path from the root on, with slashes.
func fromRoot(argument string) string {
	if from, err := filepath.Abs(argument); err == nil {
		argument = from
	}
	return filepath.ToSlash(argument)
}

// label is the last part of a path, also of "." and "..".
func label(argument string) string { return filepath.Base(filepath.FromSlash(fromRoot(argument))) }

func (s *search) walk(ctx context.Context, folder, name string, info fs.FileInfo) {
	if slices.ContainsFunc(s.walked, func(w fs.FileInfo) bool { return os.SameFile(w, info) }) {
		s.again++
		return
	}
	s.walked = append(s.walked, info)
	entries, err := os.ReadDir(folder)
	if err != nil {
		s.unread = append(s.unread, photo.LeftOut{File: name + "/", Reason: finding.Say("the folder could not be read: %v", plain(err))})
	}
	for _, entry := range entries {
		if ctx.Err() != nil {
			return
		}
		s.entry(ctx, source{filepath.Join(folder, entry.Name()), name + "/" + entry.Name()}, entry)
	}
}

// entry sorts what lies in a folder.
func (s *search) entry(ctx context.Context, file source, entry fs.DirEntry) {
	if strings.HasPrefix(entry.Name(), ".") {
		s.hidden++
		return
	}
	kind, info, err := entry.Type(), fs.FileInfo(nil), error(nil)
	if kind&fs.ModeSymlink != 0 || kind.IsDir() {
		if info, err = os.Stat(file.path); err == nil {
			kind = info.Mode().Type()
		}
	}
	switch {
	case err != nil && (entry.IsDir() || isPhotoName(file.path)):
		s.unread = append(s.unread, photo.LeftOut{File: file.name, Reason: finding.Plain(unreadable(err))})
	case err == nil && kind.IsDir():
		s.walk(ctx, file.path, file.name, info)
	case !isPhotoName(file.path):
		s.others[cmp.Or(strings.ToLower(filepath.Ext(file.path)), "without extension")]++
	case !kind.IsRegular():
		s.special++
	default:
		s.photos = append(s.photos, file)
	}
}

// named sorts a file that the user named by itself: what neither begins like a
// photo nor is called one is taken as a positions table.
func (s *search) named(file source, info fs.FileInfo) error {
	if !info.Mode().IsRegular() {
		if isPhotoName(file.path) {
			return fmt.Errorf("%s is no file that can be read like a photo", file.path)
		}
		s.tables = append(s.tables, file) // a pipe can be read only once
		return nil
	}
	if isPhotoName(file.path) {
		s.photos = append(s.photos, file)
		return nil
	}
	const magic = 8
	head, err := readAtMost(file.path, magic)
	if err != nil {
		return err
	}
	if isPhotoHead(head) {
		s.photos = append(s.photos, file)
	} else {
		s.tables = append(s.tables, file)
	}
	return nil
}

// passedOver says what was not looked into.
func (s *search) passedOver() finding.Text {
	var parts []finding.Text
	add := func(c finding.Count) {
		if c.N > 0 {
			parts = append(parts, finding.Say("%s", c))
		}
	}
	add(finding.Counted(s.hidden, "hidden file or folder", "hidden files or folders"))
	for _, extension := range slices.Sorted(maps.Keys(s.others)) {
		parts = append(parts, finding.Say("%s %s", finding.Counted(s.others[extension], "file", "files"), extension))
	}
	add(finding.Counted(s.special, "pipe or device", "pipes or devices"))
	add(finding.Counted(s.again, "folder met before", "folders met before"))
	return finding.Commas(parts)
}

// unreadable is the reason of a photo that the system does not let one read.
func unreadable(err error) string {
	if errors.Is(err, fs.ErrNotExist) {
		return "it is gone, or a link to what is not there"
	}
	return fmt.Sprintf("could not be read: %v", plain(err))
}

// plain is an error without the path, which stands beside it anyway.
func plain(err error) error {
	var fault *fs.PathError
	if errors.As(err, &fault) {
		return fault.Err
	}
	return err
}
