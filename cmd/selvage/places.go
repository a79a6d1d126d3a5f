package main

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"selvage/report"
	"selvage/report/verify"
)

// places is where the files of a note are looked for, and what was found. A
// note can come from anyone, so that nothing outside the folders that the user
// named is opened, whatever paths it holds.
type places struct {
	note    string   // its folder
	folders []string // that one first
	photos  []string
	roots   []string // all of them, links followed

	found   map[string]string // path by base name, of files
	missing []string          // in words
}

func (f *verifyFlags) places(note string) (*places, error) {
	l := &places{note: filepath.Dir(note), photos: f.photos, found: map[string]string{}}
	l.folders = append([]string{l.note}, f.folders...)
	for i, named := range slices.Concat(l.folders, f.photos) {
		if _, err := os.Stat(named); err != nil {
			return nil, err
		}
		if i < len(l.folders) && !isFolder(named) {
			return nil, fmt.Errorf("--in %s is not a folder", named)
		}
		root, err := realPath(named)
		if err != nil {
			return nil, err
		}
		l.roots = append(l.roots, root)
	}
	return l, nil
}

// realPath is a path from the root on, links followed.
func realPath(name string) (string, error) {
	whole, err := filepath.Abs(name)
	if err != nil {
		return "", err
	}
	return filepath.EvalSymlinks(whole)
}

// holds tells whether a path, links followed, is there and in a folder that the
// user named.
func (l *places) holds(name string) bool {
	to, err := realPath(name)
	return err == nil && slices.ContainsFunc(l.roots, func(root string) bool { return inside(root, to) })
}

func isFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

func isFile(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.Mode().IsRegular()
}

func inside(folder, name string) bool {
	way, err := filepath.Rel(folder, name)
	return err == nil && filepath.IsLocal(way)
}

// candidates are where a recorded path may lead now, all within the folders
// that the user named: where it led from the note, and in each of the folders
// the way on from where it led up, or the last part alone.
func (l *places) candidates(recorded string) []string {
	_, on := upward(recorded)
	local := filepath.FromSlash(on)
	if on != "" && !filepath.IsLocal(local) {
		return nil
	}
	var all []string
	add := func(name string) {
		// Before anything is asked of the system, since a path may name another computer.
		whole, err := filepath.Abs(name)
		if err != nil || !slices.ContainsFunc(slices.Concat(l.folders, l.photos), func(folder string) bool {
			named, err := filepath.Abs(folder)
			return err == nil && inside(named, whole)
		}) {
			return
		}
		if l.holds(name) && (isFolder(name) || isFile(name)) && !slices.Contains(all, name) {
			all = append(all, name)
		}
	}
	add(filepath.Join(l.note, filepath.FromSlash(recorded)))
	for _, folder := range l.folders {
		if on != "" {
			add(filepath.Join(folder, local))
			add(filepath.Join(folder, filepath.Base(local)))
		}
	}
	return all
}

// file finds a file or a folder of terrain.
func (l *places) file(recorded string, inputs []report.Input) string {
	where, _ := l.best(recorded, inputs)
	if where == "" {
		l.lacks(recorded, "--in FOLDER")
		return ""
	}
	l.found[path.Base(recorded)] = where
	l.stay(where)
	return where
}

// best is where a file is, and its SHA-256. Of several of the name it is the
// one that was recorded, if that is among them. All is empty if there is none.
func (l *places) best(recorded string, inputs []report.Input) (where, sha256 string) {
	for _, candidate := range l.candidates(recorded) {
		hash, err := sumOf(context.Background(), candidate)
		if err == nil && slices.ContainsFunc(inputs, func(i report.Input) bool { return i.Name == path.Base(recorded) && i.SHA256 == hash }) {
			return candidate, hash
		}
		if where == "" {
			where, sha256 = candidate, hash
		}
	}
	return where, sha256
}

// arguments finds the photos, and tables of positions.
func (l *places) arguments(recorded []report.Argument, inputs []report.Input) []source {
	var found []source
	tables := map[string]bool{}
	for _, i := range inputs {
		tables[i.Name] = tables[i.Name] || i.Role == positionsTable
	}
	count, number := 0, 0
	for _, a := range recorded {
		if !tables[a.Name] {
			count++
		}
	}
	for _, a := range recorded {
		if tables[a.Name] {
			where := l.file(a.Path, inputs)
			l.found[a.Name] = where
			found = append(found, source{where, a.Name})
			continue
		}
		where := l.photosOf(a, number, count)
		number++
		if where == "" {
			l.lacks(a.Path, "--photos FOLDER")
			continue
		}
		if isFolder(where) {
			l.stay(where)
		}
		found = append(found, source{where, a.Name})
	}
	return found
}

// photosOf finds the photos of an argument, the number-th of count.
func (l *places) photosOf(a report.Argument, number, count int) string {
	if len(l.photos) == count {
		return l.photos[number]
	}
	name := path.Base(a.Name)
	for _, folder := range l.photos {
		if label(folder) == name {
			return folder
		}
		if file := filepath.Join(folder, name); filepath.IsLocal(name) && l.holds(file) {
			return file
		}
	}
	if all := l.candidates(a.Path); len(all) > 0 {
		return all[0]
	}
	return ""
}

// stay notes links that lead out of the folders that the user named: all in a
// folder, or those beside a file that have its name, as what belongs to a
// shapefile or to terrain has.
func (l *places) stay(where string) {
	look := func(name string, entry fs.DirEntry) {
		if entry.Type()&fs.ModeSymlink != 0 && !l.holds(name) {
			l.missing = append(l.missing, fmt.Sprintf("%s is a link to what lies outside the folders that were named", oneLine(name)))
		}
	}
	if !isFolder(where) {
		entries, _ := os.ReadDir(filepath.Dir(where)) // or reading the file says so
		for _, entry := range entries {
			if strings.EqualFold(stem(entry.Name()), stem(where)) {
				look(filepath.Join(filepath.Dir(where), entry.Name()), entry)
			}
		}
		return
	}
	folder, err := realPath(where)
	if err != nil {
		return // reading it will say so
	}
	_ = filepath.WalkDir(folder, func(name string, entry fs.DirEntry, err error) error {
		if err == nil {
			look(name, entry)
		}
		return nil
	})
}

// lacks notes what was not found, and what to add.
func (l *places) lacks(recorded, flag string) {
	text := fmt.Sprintf("%s was not found", oneLine(recorded))
	up, on := upward(recorded)
	if up > 0 && up <= mostUp && filepath.IsLocal(filepath.FromSlash(on)) {
		flag += " or --in " + filepath.Join(l.note, strings.Repeat("../", up))
	}
	l.missing = append(l.missing, text+"; add "+flag)
}

// fault says what is missing.
func (l *places) fault() error {
	const most = 5
	if len(l.missing) == 0 {
		return nil
	}
	text := strings.Join(l.missing[:min(len(l.missing), most)], ". ")
	if more := len(l.missing) - most; more > 0 {
		text += ". " + report.Count(more, "more file is", "more files are") + " missing"
	}
	return fmt.Errorf("the note cannot be recomputed: %s", text)
}

// changed says which files are others than those that were recorded.
func (l *places) changed(inputs []report.Input) []string {
	var all []string
	for _, i := range inputs {
		where := l.found[i.Name]
		if where == "" {
			continue
		}
		hash, err := sumOf(context.Background(), where)
		if err == nil && hash != i.SHA256 {
			all = append(all, verify.Changed(i, hash))
		}
	}
	return all
}
