// Package desk serves the page on which a pilot does a whole job by dragging
// files: to this computer only, over the program's own command lines. Its API is
// described in API.md.
package desk

import (
	"crypto/rand"
	"embed"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"sync"

	"selvage/report"
	"selvage/report/page"
)

// Engine does the work.
type Engine interface {
	// Run carries out a command line, as after the program's name, and returns
	// what it prints, JSON where --json is among the arguments, and its exit
	// status.
	Run(args []string) (out []byte, status int, err error)
	// Draw does what a command line of prepare would do, and writes nothing.
	// The answer is sent as JSON.
	Draw(args []string) (any, error)
	// Remember has the next desk open over this folder.
	Remember(folder string) error
	// Letterhead reads a file of lines such as "operator: NAME". The logo comes
	// with the path of the folder.
	Letterhead(path string) (map[string]string, error)
	// Cards are the folders of the memory cards that are in this computer.
	Cards() []string
}

//go:embed page
var pageFiles embed.FS

// Server is one desk. Its folder holds a folder for each job.
type Server struct {
	place  place
	engine Engine
	token  string
	opener once
	quit   func()

	busy  sync.Map // *sync.Mutex by job: one command at a time works in its folder
	lists lists
}

// New returns a desk over a folder, which must exist. Quit is called when the
// user closes the desk; it must not wait for the request to end.
func New(folder string, engine Engine, quit func()) *Server {
	return &Server{place: place{folder: folder}, engine: engine, token: rand.Text(), opener: once{word: rand.Text()}, quit: quit}
}

// Opening is the path to open in the browser. It works once, so that nobody who
// sees it afterwards, as in a list of processes, gets in.
func (s *Server) Opening() string { return "/open/" + s.opener.word }

// once is a word that counts the first time only.
type once struct {
	sync.Mutex
	word string
}

func (o *once) take(word string) bool {
	o.Lock()
	defer o.Unlock()
	if o.word == "" || !equal(word, o.word) {
		return false
	}
	o.word = ""
	return true
}

// Handler serves the desk at a host, as in 127.0.0.1:50000, and at no other.
func (s *Server) Handler(host string) http.Handler {
	desk := http.NewServeMux()
	desk.Handle("GET /{$}", s.file("index.html"))
	desk.HandleFunc("GET /page/{file}", s.pageFile)
	desk.HandleFunc("GET /jobs/{job}/{file}", s.jobFile)

	desk.Handle("GET /api/jobs", answer(s.listJobs))
	desk.Handle("POST /api/jobs", answer(s.newJob))
	desk.Handle("GET /api/jobs/{job}", answer(s.job))
	desk.Handle("POST /api/jobs/{job}/files/{file}", answer(s.putFile))
	desk.Handle("GET /api/cards", answer(func(http.ResponseWriter, *http.Request) (any, error) {
		return map[string][]string{"cards": append([]string{}, s.engine.Cards()...)}, nil
	}))
	desk.Handle("GET /api/letterhead", answer(s.letterhead))
	desk.Handle("POST /api/letterhead", answer(s.keepLetterhead))
	desk.Handle("POST /api/letterhead/logo", answer(s.keepLogo))
	desk.Handle("POST /api/folder", answer(s.moveFolder))
	desk.Handle("POST /api/jobs/{job}/draw", answer(s.draw))
	desk.Handle("POST /api/jobs/{job}/run/{command}", answer(s.run))
	desk.Handle("POST /api/jobs/{job}/typed/{command}", answer(s.typed))
	desk.Handle("POST /api/jobs/{job}/photos/{stage}", answer(s.photos))
	desk.HandleFunc("POST /api/quit", func(w http.ResponseWriter, r *http.Request) {
		w.WriteHeader(http.StatusNoContent)
		s.quit()
	})

	outer := http.NewServeMux()
	outer.HandleFunc("GET /open/{word}", func(w http.ResponseWriter, r *http.Request) {
		if !s.opener.take(r.PathValue("word")) {
			http.Error(w, "This address worked once. Start the desk again.", http.StatusForbidden)
			return
		}
		http.Redirect(w, r, "/"+s.token+"/", http.StatusSeeOther)
	})
	outer.HandleFunc("/{token}/", func(w http.ResponseWriter, r *http.Request) {
		if !equal(r.PathValue("token"), s.token) {
			http.NotFound(w, r)
			return
		}
		http.StripPrefix("/"+s.token, desk).ServeHTTP(w, r)
	})
	return guard(host, outer)
}

func (s *Server) pageFile(w http.ResponseWriter, r *http.Request) {
	s.file(r.PathValue("file")).ServeHTTP(w, r)
}

// file serves a file of the page.
func (s *Server) file(name string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		kind, known := kinds[extension(name)]
		data, err := pageFiles.ReadFile("page/" + name)
		switch {
		case name == "sheet.css":
			data, err = []byte(report.SheetStyle()), nil
		case err != nil: // the reports' own modules
			data, err = fs.ReadFile(page.Files(), name)
		}
		if err != nil || !known {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", kind)
		w.Header().Set("Content-Security-Policy", pagePolicy)
		_, _ = w.Write(data) // nobody is left to be told
	})
}

// place is the folder of the jobs, which the user may change.
type place struct {
	sync.Mutex
	folder string
}

func (p *place) get() string {
	p.Lock()
	defer p.Unlock()
	return p.folder
}

// moveFolder takes another folder for the jobs from now on. Nothing is moved.
func (s *Server) moveFolder(w http.ResponseWriter, r *http.Request) (any, error) {
	var asked struct {
		Folder string `json:"folder"`
	}
	if err := decode(w, r, mostBody, &asked); err != nil {
		return nil, err
	}
	folder := filepath.Clean(asked.Folder)
	if !filepath.IsAbs(folder) {
		return nil, refuse("Give the whole path of the folder, from its drive or root on.")
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return nil, err
	}
	if err := s.engine.Remember(folder); err != nil {
		return nil, err
	}
	s.place.Lock()
	s.place.folder = folder
	s.place.Unlock()
	return s.listJobs(w, r)
}
