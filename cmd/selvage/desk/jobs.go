package desk

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode"

	"selvage/boundary"
)

const (
	settingsName = "desk.json"
	photosName   = "photos.csv"

	mostBody  = 1 << 20
	mostFile  = 1 << 30 // bytes; the readers have closer limits of their own
	mostJobs  = 2000
	mostFiles = 2000 // listed of a job
)

// settings are what the user chose in a job, as typed.
type settings struct {
	Client string           `json:"client"` // the client's file
	Flags  map[string]flags `json:"flags"`  // by command
}

type flags map[string][]string

type jobRow struct {
	Name     string    `json:"name"`
	Changed  time.Time `json:"changed"`
	When     string    `json:"when"` // it was changed, in words
	Client   string    `json:"client"`
	Prepared bool      `json:"prepared"`
	Audited  bool      `json:"audited"`
}

type fileRow struct {
	Name    string    `json:"name"`
	Bytes   int64     `json:"bytes"`
	Changed time.Time `json:"changed"`
}

type jobMessage struct {
	jobRow
	Folder   string    `json:"folder"`
	Settings settings  `json:"settings"`
	Files    []fileRow `json:"files"`
}

// listJobs lists the folders that hold a job, the latest first.
func (s *Server) listJobs(http.ResponseWriter, *http.Request) (any, error) {
	folder := s.place.get()
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	rows := []jobRow{}
	u := s.figures().units()
	for _, e := range entries {
		if !e.IsDir() || strings.HasPrefix(e.Name(), ".") || len(rows) == mostJobs {
			continue
		}
		if j, err := s.open(e.Name()); err == nil {
			if row, is := j.row(); is {
				row.When = u.Moment(row.Changed.Local())
				rows = append(rows, row)
			}
		}
	}
	slices.SortStableFunc(rows, func(a, b jobRow) int { return b.Changed.Compare(a.Changed) })
	return struct {
		Folder string   `json:"folder"`
		Jobs   []jobRow `json:"jobs"`
	}{folder, rows}, nil
}

func (s *Server) newJob(w http.ResponseWriter, r *http.Request) (any, error) {
	var asked struct {
		Name string `json:"name"`
	}
	if err := decode(w, r, mostBody, &asked); err != nil {
		return nil, err
	}
	safe := boundary.SafeName(asked.Name)
	name := safe
	for n := 2; ; n++ {
		err := os.Mkdir(filepath.Join(s.place.get(), name), 0o777)
		if err == nil {
			break
		}
		if !errors.Is(err, fs.ErrExist) || n > mostJobs {
			return nil, err
		}
		name = fmt.Sprintf("%s-%d", safe, n)
	}
	j, err := s.open(name)
	if err != nil {
		return nil, err
	}
	if err := j.keep(settings{}); err != nil {
		return nil, err
	}
	return j.message()
}

// inJob has a request work in a job's folder when no other does.
func (s *Server) inJob(do func(j job, w http.ResponseWriter, r *http.Request) (any, error)) http.Handler {
	return answer(func(w http.ResponseWriter, r *http.Request) (any, error) {
		j, err := s.open(r.PathValue("job"))
		if err != nil {
			return nil, err
		}
		defer s.lock(j)()
		before := j.state()
		value, err := do(j, w, r)
		w.Header().Set(stateHeader, before+" "+j.state())
		return value, err
	})
}

// stateHeader tells the page the state of the job before and after a request,
// so that it sees when somebody else has changed it.
const stateHeader = "Job-State"

// state is another one when what was chosen in the job is, or one of its files.
// Receipts do not count: they are made anew whenever one is looked at.
func (j job) state() string {
	sum := fnv.New64a()
	entries, _ := os.ReadDir(j.folder) // what cannot be read has no state
	for _, e := range entries {
		info, err := e.Info()
		switch {
		case err != nil || !plainName(e.Name()) || strings.Contains(e.Name(), "-receipt."):
		case e.Name() == settingsName:
			fmt.Fprintln(sum, j.settings())
		default:
			fmt.Fprintln(sum, e.Name(), info.Size(), info.ModTime().UnixNano())
		}
	}
	return strconv.FormatUint(sum.Sum64(), 36)
}

// job is one job's folder.
type job struct{ name, folder string }

// open returns a job that is a folder of its own in the desk's, not a link.
func (s *Server) open(name string) (job, error) {
	j := job{name, filepath.Join(s.place.get(), name)}
	if !plainName(name) {
		return j, errNoJob
	}
	if info, err := os.Lstat(j.folder); err != nil || !info.IsDir() {
		return j, errNoJob
	}
	return j, nil
}

// lock waits until no other command works in the job's folder.
func (s *Server) lock(j job) (unlock func()) {
	mutex, _ := s.busy.LoadOrStore(strings.ToLower(j.name), &sync.Mutex{})
	mutex.(*sync.Mutex).Lock()
	return mutex.(*sync.Mutex).Unlock
}

// plainName reports whether a name is that of something right in a folder, on
// every system.
func plainName(name string) bool {
	return name != "" && len(name) <= 200 && filepath.IsLocal(name) && !strings.HasPrefix(name, ".") &&
		!strings.ContainsAny(name, `/\:*?"<>|`) && strings.TrimRight(name, ". ") == name &&
		!strings.ContainsFunc(name, unicode.IsControl)
}

// path is that of a file in the job's folder, which must be there and be no link.
func (j job) path(file string) (string, error) {
	path := filepath.Join(j.folder, file)
	if !plainName(file) {
		return "", refuse(fmt.Sprintf("%q is no name of a file in this job.", file))
	}
	if info, err := os.Lstat(path); err != nil || !info.Mode().IsRegular() {
		return "", refusal{http.StatusNotFound, file + " is not in this job."}
	}
	return path, nil
}

// has finds a file of the job by the end of its name.
func (j job) has(end string) bool {
	found, err := filepath.Glob(filepath.Join(escapeGlob(j.folder), "*"+end))
	return err == nil && len(found) > 0
}

func escapeGlob(path string) string {
	if filepath.Separator == '\\' {
		return strings.NewReplacer("[", "[[]").Replace(path)
	}
	return strings.NewReplacer(`\`, `\\`, "[", `\[`, "*", `\*`, "?", `\?`).Replace(path)
}

func (j job) row() (row jobRow, is bool) {
	row = jobRow{Name: j.name, Prepared: j.has(".job.geojson"), Audited: j.has("-coverage.json")}
	at := j.folder
	if path, err := j.path(settingsName); err == nil {
		at = path
	} else if !row.Prepared {
		return row, false
	}
	if info, err := os.Stat(at); err == nil {
		row.Changed = info.ModTime()
	}
	row.Client = j.settings().Client
	return row, true
}

func (j job) message() (jobMessage, error) {
	m := jobMessage{Folder: j.folder, Settings: j.settings(), Files: []fileRow{}}
	m.jobRow, _ = j.row()
	entries, err := os.ReadDir(j.folder)
	if err != nil {
		return m, err
	}
	for _, e := range entries {
		info, err := e.Info()
		if err == nil && info.Mode().IsRegular() && plainName(e.Name()) && e.Name() != settingsName && len(m.Files) < mostFiles {
			m.Files = append(m.Files, fileRow{e.Name(), info.Size(), info.ModTime()})
		}
	}
	return m, nil
}

// settings are those that were kept.
func (j job) settings() settings {
	kept := readSettings[settings](j.folder)
	if kept.Flags == nil {
		kept.Flags = map[string]flags{}
	}
	return kept
}

func (j job) keep(chosen settings) error {
	if _, err := j.path(settingsName); err == nil && reflect.DeepEqual(chosen, j.settings()) {
		return nil
	}
	return writeSettings(j.folder, chosen)
}

func writeSettings(folder string, chosen any) error {
	data, err := json.MarshalIndent(chosen, "", "  ")
	if err != nil {
		return err
	}
	return writeWhole(folder, settingsName, func(w io.Writer) error {
		_, err := w.Write(append(data, '\n'))
		return err
	})
}

// readSettings reads what writeSettings wrote. What cannot be read is as if
// nothing had been chosen.
func readSettings[T any](folder string) (kept T) {
	path := filepath.Join(folder, settingsName)
	if info, err := os.Lstat(path); err != nil || !info.Mode().IsRegular() {
		return kept
	}
	f, err := os.Open(path)
	if err != nil {
		return kept
	}
	defer f.Close()
	if json.NewDecoder(io.LimitReader(f, mostBody)).Decode(&kept) != nil {
		var none T
		return none
	}
	return kept
}

// write puts a file into the job's folder whole or not at all.
func (j job) write(name string, write func(io.Writer) error) error {
	return writeWhole(j.folder, name, write)
}

// Passing is the pattern of the names that files of a process have until they
// are whole. It is that of the program's commands, which clear away what a
// process that is no more left behind.
func Passing(process int) string { return fmt.Sprintf(".selvage-%d-*.part", process) }

func writeWhole(folder, name string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(folder, Passing(os.Getpid()))
	if err != nil {
		return err
	}
	err = errors.Join(write(f), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), filepath.Join(folder, name))
	}
	if err != nil {
		_ = os.Remove(f.Name())
	}
	return err
}

// putFile takes in a file that was dropped. One that is there already stays as
// it is.
func (s *Server) putFile(j job, w http.ResponseWriter, r *http.Request) (any, error) {
	name := r.PathValue("file")
	if !plainName(name) || strings.EqualFold(name, settingsName) {
		return nil, refuse(fmt.Sprintf("%q cannot be the name of a file here; rename it and drop it again.", name))
	}
	body := http.MaxBytesReader(w, r.Body, mostFile)
	if there, err := j.path(name); err == nil {
		same, err := holds(there, body)
		if err != nil {
			return nil, err
		}
		if !same {
			return nil, refusal{http.StatusConflict, name + " is in this job already, with other content. It was left as it is; rename the new one, or start a new job."}
		}
	} else if _, err := os.Lstat(filepath.Join(j.folder, name)); err == nil {
		return nil, refusal{http.StatusConflict, name + " is in this job already, and is no file. It was left as it is."}
	} else if err := j.write(name, func(w io.Writer) error {
		_, err := io.Copy(w, body)
		return err
	}); err != nil {
		return nil, err
	}
	if r.URL.Query().Get("as") == "client" {
		chosen := j.settings()
		chosen.Client = name
		if err := j.keep(chosen); err != nil {
			return nil, err
		}
	}
	return j.message()
}

// holds reports whether a file has just these bytes.
func holds(path string, content io.Reader) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	there, sent := sha256.New(), sha256.New()
	_, faultThere := io.Copy(there, f)
	_, faultSent := io.Copy(sent, content)
	return bytes.Equal(there.Sum(nil), sent.Sum(nil)), errors.Join(faultThere, faultSent)
}

// jobFile serves a file of a job, to be shown in a frame or saved.
func (s *Server) jobFile(w http.ResponseWriter, r *http.Request) {
	j, err := s.open(r.PathValue("job"))
	if err != nil {
		http.NotFound(w, r)
		return
	}
	path, err := j.path(r.PathValue("file"))
	if err != nil {
		http.NotFound(w, r)
		return
	}
	f, err := os.Open(path)
	if err != nil {
		http.Error(w, sentence(err), http.StatusInternalServerError)
		return
	}
	defer f.Close()
	kind, known := kinds[extension(path)]
	if !known || r.URL.Query().Has("save") {
		w.Header().Set("Content-Disposition", "attachment")
	}
	if !known {
		kind = "application/octet-stream"
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Security-Policy", reportPolicy)
	http.ServeContent(w, r, "", time.Time{}, f)
}
