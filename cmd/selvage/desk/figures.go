package desk

import (
	"bytes"
	"encoding/json"
	"net/http"
	"time"

	"selvage/boundary/finding"
	"selvage/report"
)

// figures are how measures, figures and dates are shown, in all jobs. They are
// kept in the folder of the jobs; empty is what the commands do by themselves.
type figures struct {
	Units  string `json:"units"`
	Locale string `json:"locale"`
}

type figuresMessage struct {
	figures
	Thousands string `json:"thousands"`
	Point     string `json:"point"`
	Sample    string `json:"sample"`
}

func (s *Server) figures() figures {
	kept := readSettings[figures](s.place.get())
	if _, err := kept.parse(); err != nil { // somebody wrote something else there
		return figures{}
	}
	return kept
}

func (f figures) parse() (u report.Units, err error) {
	if f.Units != "" {
		if u.Measures, err = report.ParseMeasures(f.Units); err != nil {
			return u, err
		}
	}
	if f.Locale != "" {
		u.Locale, err = report.ParseLocale(f.Locale)
	}
	return u, err
}

// units are those of figures that can be read.
func (f figures) units() report.Units {
	u, _ := f.parse()
	return u
}

func (f figures) args() []string {
	var args []string
	if f.Units != "" {
		args = append(args, "--units="+f.Units)
	}
	if f.Locale != "" {
		args = append(args, "--locale="+f.Locale)
	}
	return args
}

func (f figures) message() figuresMessage {
	u := f.units()
	f.Units = u.Measures.String()
	return figuresMessage{f, u.Thousands(), u.Point(), u.AreaBoth(123_456) + "; " + u.Length(12.3) + "; " + u.Moment(time.Now())}
}

func (s *Server) keepFigures(w http.ResponseWriter, r *http.Request) (any, error) {
	var asked figures
	if err := decode(w, r, mostBody, &asked); err != nil {
		return nil, err
	}
	if _, err := asked.parse(); err != nil {
		return nil, err
	}
	return asked.message(), writeSettings(s.place.get(), asked)
}

// say has the sentences of a command's JSON speak to those who read the page.
func (f figures) say(out []byte) (json.RawMessage, error) {
	if f == (figures{}) {
		return out, nil
	}
	var message any
	d := json.NewDecoder(bytes.NewReader(out))
	d.UseNumber()
	if err := d.Decode(&message); err != nil {
		return nil, err
	}
	sayWithin(message, f.units())
	return json.Marshal(message)
}

// sayWithin says anew what stands beside what is said.
func sayWithin(value any, u report.Units) {
	switch v := value.(type) {
	case []any:
		for _, each := range v {
			sayWithin(each, u)
		}
	case map[string]any:
		if said, there := v["said"]; there {
			data, _ := json.Marshal(said)
			if t, sound := finding.Parse(data); sound {
				for _, key := range []string{"text", "reason", "verdict"} {
					if _, stands := v[key]; stands {
						v[key] = u.Sentence(t)
					}
				}
			}
			delete(v, "said")
		}
		for _, each := range v {
			sayWithin(each, u)
		}
	}
}
