// Package desk serves the page on which a pilot does a whole job by dragging
// files: to this computer only, over the program's own command lines. Its API is
// described in API.md.
package desk

import (
	"crypto/rand"
	"embed"
	"errors"
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
	// Announce tells this user's other programs the path at which the desk that
	// holds a folder can be opened.
	Announce(folder, desk, opening string)
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
	opener opener
	quit   func()

	busy  sync.Map // *sync.Mutex by job: one command at a time works in its folder
	lists lists
}

// New returns a desk over a folder, which must exist. Quit is called when the
// user closes the desk; it must not wait for the request to end.
func New(folder string, engine Engine, quit func()) *Server {
	return &Server{place: place{folder: folder}, engine: engine, token: rand.Text(), opener: opener{word: rand.Text()}, quit: quit}
}

// Hold marks the folder as this desk's. It is a Taken where another desk holds
// it, and nothing else where that cannot be told.
func (s *Server) Hold() error { return s.hold(s.place.get()) }

func (s *Server) hold(folder string) error {
	held, err := hold(folder)
	var taken Taken
	if errors.As(err, &taken) {
		return taken
	}
	s.place.Lock()
	before := s.place.held
	s.place.folder, s.place.held = folder, held
	s.place.Unlock()
	before.release()
	s.announce()
	return nil
}

// Release lets go of the folder, as the end of the process does too.
func (s *Server) Release() {
	s.place.Lock()
	defer s.place.Unlock()
	s.place.held.release()
	s.place.held = nil
}

func (s *Server) announce() {
	s.place.Lock()
	folder, held := s.place.folder, s.place.held
	s.place.Unlock()
	if held != nil {
		s.engine.Announce(folder, held.desk, s.Opening())
	}
}

// Opening is the path to open in the browser. It works once, so that nobody who
// sees it afterwards, as in a list of processes, gets in; then it is another.
func (s *Server) Opening() string {
	s.opener.Lock()
	defer s.opener.Unlock()
	return "/open/" + s.opener.word
}

// opener is a word that counts the first time only.
type opener struct {
	sync.Mutex
	word string
}

func (o *opener) take(word string) bool {
	o.Lock()
	defer o.Unlock()
	if !equal(word, o.word) {
		return false
	}
	o.word = rand.Text()
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
	desk.Handle("GET /api/jobs/{job}", s.inJob(func(j job, _ http.ResponseWriter, _ *http.Request) (any, error) { return j.message() }))
	desk.Handle("POST /api/jobs/{job}/files/{file}", s.inJob(s.putFile))
	desk.Handle("GET /api/cards", answer(func(http.ResponseWriter, *http.Request) (any, error) {
		return map[string][]string{"cards": append([]string{}, s.engine.Cards()...)}, nil
	}))
	desk.Handle("GET /api/letterhead", answer(s.letterhead))
	desk.Handle("POST /api/letterhead", answer(s.keepLetterhead))
	desk.Handle("POST /api/letterhead/logo", answer(s.keepLogo))
	desk.Handle("GET /api/figures", answer(func(http.ResponseWriter, *http.Request) (any, error) { return s.figures().message(), nil }))
	desk.Handle("POST /api/figures", answer(s.keepFigures))
	desk.Handle("POST /api/folder", answer(s.moveFolder))
	desk.Handle("POST /api/jobs/{job}/draw", s.inJob(s.draw))
	desk.Handle("POST /api/jobs/{job}/run/{command}", s.inJob(s.run))
	desk.Handle("POST /api/jobs/{job}/typed/{command}", s.inJob(s.typed))
	desk.Handle("POST /api/jobs/{job}/photos/{stage}", s.inJob(s.photos))
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
		s.announce()
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
	held   *held // nil where it is not
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
	if folder != s.place.get() {
		if err := s.hold(folder); err != nil {
			return nil, err
		}
	}
	if err := s.engine.Remember(folder); err != nil {
		return nil, err
	}
	return s.listJobs(w, r)
}
