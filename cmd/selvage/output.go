package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"syscall"

	"selvage/report"
)

// outputs are files that are written all or not at all.
type outputs struct {
	folder  string
	replace bool
	inputs  []string // paths that must not be touched
	flag    string   // that names the folder; "" for --out
	unasked bool     // nothing will be written
	planned []planned
	// proof holds all files together against what they must have, once they are
	// on the disk and before any is in its place. It may be nil.
	proof func() error
}

type planned struct {
	role, name string
	write      func(io.Writer) error
	reread     func(data []byte) error // checks what was written; may be nil
}

func (o *outputs) add(role, name string, write func(io.Writer) error) {
	o.addProved(role, name, write, nil)
}

// addProved plans a file that reread looks at when it is on the disk; where
// that fails nothing is written.
func (o *outputs) addProved(role, name string, write func(io.Writer) error, reread func(data []byte) error) {
	o.planned = append(o.planned, planned{role, name, write, reread})
}

// names lists what was planned without the folder, which is nobody's business
// but the user's.
func (o *outputs) names() []report.File {
	files := o.files()
	for i, p := range o.planned {
		files[i].Path = p.name
	}
	return files
}

// files lists what was planned.
func (o *outputs) files() []report.File {
	files := make([]report.File, len(o.planned))
	for i, p := range o.planned {
		files[i] = report.File{Role: p.role, Path: filepath.Join(o.folder, p.name)}
	}
	return files
}

// check reports whether a file of this name may be written.
func (o *outputs) check(name string) error {
	if o.unasked {
		return nil
	}
	path, flag := filepath.Join(o.folder, name), cmp.Or(o.flag, "--out")
	there, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return err
	}
	for _, input := range o.inputs {
		if in, err := os.Stat(input); err == nil && os.SameFile(in, there) {
			return fmt.Errorf("%s would overwrite the file that is read; choose another folder with %s", path, flag)
		}
	}
	if !there.Mode().IsRegular() {
		return fmt.Errorf("%s is in the way and is not a file", path)
	}
	if !o.replace {
		return fmt.Errorf("%s is already there; add --replace to write it anew, or choose another folder with %s", path, flag)
	}
	return nil
}

// commit writes every planned file beside its final place and, only when all
// of them are on the disk, moves them there. The user may break off until then.
func (o *outputs) commit() error {
	for _, p := range o.planned {
		if err := o.check(p.name); err != nil {
			return err
		}
	}
	ctx, release := interruptible()
	defer release()
	if err := os.MkdirAll(o.folder, 0o777); err != nil {
		return err
	}
	removeAbandoned(o.folder)
	var leftover []string
	defer func() {
		for _, path := range leftover {
			_ = os.Remove(path) // or the next run does
		}
	}()
	for i, p := range o.planned {
		path := filepath.Join(o.folder, passing(os.Getpid(), i))
		if err := stage(path, p); err != nil {
			return fmt.Errorf("%s was not written: %w", filepath.Join(o.folder, p.name), plain(err))
		}
		leftover = append(leftover, path)
		if ctx.Err() != nil {
			return stopped{}
		}
	}
	if o.proof != nil {
		if err := o.proof(); err != nil {
			return fmt.Errorf("nothing was written to %s: %w", o.folder, err)
		}
	}
	for i, p := range o.planned {
		path := filepath.Join(o.folder, p.name)
		if err := os.Rename(leftover[0], path); err != nil {
			return fmt.Errorf("%s could not be put in its place%s: %w", path, inPlace(i), renameFault(err))
		}
		leftover = leftover[1:]
	}
	return nil
}

// inPlace says that some files are new already when another one could not be.
func inPlace(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(" (%s of this run are; run it again)", report.Count(n, "file", "files"))
}

func renameFault(err error) error {
	var fault *os.LinkError
	if errors.As(err, &fault) {
		return fault.Err
	}
	return err
}

// passing is the name that the n-th file has until all are on the disk. It tells
// whose it is and which process writes it, and is short, whatever the file's own.
func passing(process, n int) string {
	return fmt.Sprintf(".selvage-%d-%d.part", process, n)
}

var passed = regexp.MustCompile(`^\.selvage-([1-9][0-9]*)-[0-9]+\.part$`)

// removeAbandoned removes the files in a folder that processes which are no
// more left under passing names.
func removeAbandoned(folder string) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return // writing will say so
	}
	for _, entry := range entries {
		found := passed.FindStringSubmatch(entry.Name())
		if found == nil || !entry.Type().IsRegular() {
			continue
		}
		if process, err := strconv.Atoi(found[1]); err == nil && !running(process) {
			_ = os.Remove(filepath.Join(folder, entry.Name())) // it does no harm
		}
	}
}

// running reports whether another process of this number may be at work.
func running(process int) bool {
	if process == os.Getpid() {
		return false
	}
	p, err := os.FindProcess(process)
	if err != nil {
		return false
	}
	defer p.Release()
	return !errors.Is(p.Signal(syscall.Signal(0)), os.ErrProcessDone)
}

// stage writes a file to a path, or leaves nothing there.
func stage(path string, p planned) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	err = errors.Join(p.write(f), f.Sync(), f.Close())
	if err == nil && p.reread != nil {
		var data []byte
		if data, err = os.ReadFile(path); err == nil {
			err = p.reread(data)
		}
	}
	if err != nil {
		_ = os.Remove(path)
		return err
	}
	return nil
}
