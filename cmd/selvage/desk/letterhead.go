package desk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"

	"selvage/report"
)

const (
	letterheadName = "letterhead.txt"
	logoName       = "letterhead-logo.png"
	longestLine    = 500 // characters
)

// letterhead stands at the head of the sheets of all jobs.
type letterhead struct {
	Operator string `json:"operator"`
	Client   string `json:"client"`
	Licence  string `json:"licence"`
	Remarks  string `json:"remarks"`
	Logo     string `json:"logo"` // a file in the folder of the jobs, or empty
}

// letterheadPath is where the letterhead of the jobs is, if there is one.
func (s *Server) letterheadPath() (path string, there bool) {
	path = filepath.Join(s.place.get(), letterheadName)
	info, err := os.Lstat(path)
	return path, err == nil && info.Mode().IsRegular()
}

func (s *Server) letterhead(http.ResponseWriter, *http.Request) (any, error) {
	return s.readLetterhead()
}

func (s *Server) readLetterhead() (letterhead, error) {
	path, there := s.letterheadPath()
	if !there {
		return letterhead{}, nil
	}
	said, err := s.engine.Letterhead(path)
	if err != nil {
		return letterhead{}, err
	}
	l := letterhead{said["operator"], said["client"], said["licence"], said["remarks"], ""}
	if logo := said["logo"]; logo != "" {
		l.Logo = filepath.Base(logo)
	}
	return l, nil
}

func (s *Server) keepLetterhead(w http.ResponseWriter, r *http.Request) (any, error) {
	var l letterhead
	if err := decode(w, r, mostBody, &l); err != nil {
		return nil, err
	}
	return s.writeLetterhead(l)
}

// keepLogo takes in a picture, which stands on the letterhead from now on.
func (s *Server) keepLogo(w http.ResponseWriter, r *http.Request) (any, error) {
	data, err := io.ReadAll(http.MaxBytesReader(w, r.Body, report.MostLogoBytes))
	if err != nil {
		return nil, err
	}
	if _, err := report.ReadLogo(data); err != nil {
		return nil, fmt.Errorf("the logo: %w", err)
	}
	l, err := s.readLetterhead()
	if err != nil {
		return nil, err
	}
	if err := writeWhole(s.place.get(), logoName, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	}); err != nil {
		return nil, err
	}
	l.Logo = logoName
	return s.writeLetterhead(l)
}

// writeLetterhead writes the lines that the page knows; those that somebody
// wrote beside them stay.
func (s *Server) writeLetterhead(l letterhead) (letterhead, error) {
	if l.Logo != "" && !plainName(l.Logo) {
		return l, refuse("The logo is the name of a file in the folder of the jobs.")
	}
	path, there := s.letterheadPath()
	if _, err := os.Lstat(path); !there && !errors.Is(err, fs.ErrNotExist) {
		return l, refuse(letterheadName + " in the folder of the jobs is no file. It was left as it is.")
	}
	var lines []string
	for _, line := range []struct{ key, value string }{
		{"operator", l.Operator}, {"client", l.Client}, {"licence", l.Licence}, {"remarks", l.Remarks}, {"logo", l.Logo},
	} {
		if utf8.RuneCountInString(line.value) > longestLine || strings.ContainsFunc(line.value, unicode.IsControl) {
			return l, refuse(fmt.Sprintf("The %s is longer than %d characters, or not text.", line.key, longestLine))
		}
		if value := strings.TrimSpace(line.value); value != "" {
			lines = append(lines, line.key+": "+value)
		}
	}
	if there {
		data, err := os.ReadFile(path)
		if err != nil {
			return l, err
		}
		for line := range strings.Lines(strings.TrimPrefix(string(data), "\ufeff")) {
			key, _, _ := strings.Cut(line, ":")
			switch strings.ToLower(strings.TrimSpace(key)) {
			case "operator", "client", "licence", "remarks", "logo", "":
			default:
				lines = append(lines, strings.TrimRight(line, "\r\n"))
			}
		}
	}
	err := writeWhole(s.place.get(), letterheadName, func(w io.Writer) error {
		_, err := io.WriteString(w, strings.Join(append(lines, ""), "\n"))
		return err
	})
	if err != nil {
		return l, err
	}
	return s.readLetterhead()
}
