package desk

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"selvage/boundary"
)

// kind is what a flag takes from the page.
type kind int

const (
	text     kind = iota // as typed
	toggle               // nothing
	file                 // the name of a file in the job
	fileWith             // such a name and, after a colon, a length
	card                 // the folder of a memory card that is in the computer
)

// What the page may say, by command. A path is always one within the job.
var (
	reading = map[string]kind{"crs": text, "close-path": toggle, "crossing": text, "hole": text, "parts": text, "tolerate": text}
	awaited = map[string]kind{"near": text, "expect-area": text, "min-width": text}
	setup   = map[string]kind{"camera": text, "sample": file, "height": text, "gsd": text, "overlap": text, "width-along": toggle}

	accepted = map[string]map[string]kind{
		"vet": join(reading, awaited, map[string]kind{"max-vertices": text}),
		"prepare": join(reading, awaited, setup, map[string]kind{
			"buffer": text, "min-views": text, "margin": text, "ignore-buffers": toggle, "margin-along": fileWith, "along-within": text,
			"keep-out": fileWith, "join": text, "keep-separate": toggle, "fill-holes": toggle, "hole-min": text, "max-vertices": text,
			"format": text, "split": toggle, "sd": card,
		}),
		"plan": join(setup, map[string]kind{
			"course": text, "max-blur": text, "exposure": text, "trigger": text, "speed": text, "turn": text, "photo-size": text,
		}),
		"photos": {"positions": file, "altitude-datum": text, "geoid-offset": text},
		"audit": {
			"ground": text, "terrain": file, "terrain-crs": text, "terrain-unit": text, "height": text, "camera": text, "fov": text, "sensor": text,
			"overlap": text, "gsd": text, "min-views": text, "min-zone": text, "refly-buffer": text, "max-vertices": text, "max-blur": text,
			"trigger": text, "positions": file, "altitude-datum": text, "geoid-offset": text, "position-error": text,
			"attitude-error": text, "terrain-error": text, "points": file, "points-crs": text, "point-views": text,
		},
	}
)

var errNoCommand = refusal{http.StatusNotFound, "The desk has no such command."}

func join(all ...map[string]kind) map[string]kind {
	together := map[string]kind{}
	for _, m := range all {
		for name, k := range m {
			together[name] = k
		}
	}
	return together
}

// outcome is what a command said.
type outcome struct {
	Status int             `json:"status"`
	Result json.RawMessage `json:"result"`
}

// run carries out a command on the job's files, and keeps what was chosen.
func (s *Server) run(j job, w http.ResponseWriter, r *http.Request) (any, error) {
	command := r.PathValue("command")
	args, sent, err := s.chosen(j, w, r, command)
	if err != nil {
		return nil, err
	}
	if err := j.keepFlags(command, sent); err != nil {
		return nil, err
	}
	args = append(args, "--json")
	if path, there := s.letterheadPath(); there && (command == "vet" || command == "audit") {
		args = append(args, "--letterhead="+path)
	}
	if command != "plan" && command != "photos" {
		args = append(args, "--out="+j.folder, "--replace")
	}
	out, status, err := s.engine.Run(args)
	if err != nil {
		return nil, err
	}
	said, err := s.figures().say(out)
	return outcome{status, said}, err
}

// draw prepares without writing. While it does, what was typed is kept, so that
// nobody waits for the disk.
func (s *Server) draw(j job, w http.ResponseWriter, r *http.Request) (any, error) {
	args, sent, err := s.chosen(j, w, r, "prepare")
	if err != nil {
		return nil, err
	}
	kept := make(chan error, 1)
	go func() { kept <- j.keepFlags("prepare", sent) }()
	drawing, err := s.engine.Draw(args)
	if fault := <-kept; err == nil {
		err = fault
	}
	return drawing, err
}

// chosen makes the beginning of a command line of what the page sent.
func (s *Server) chosen(j job, w http.ResponseWriter, r *http.Request, command string) ([]string, flags, error) {
	known, ok := accepted[command]
	if !ok {
		return nil, nil, errNoCommand
	}
	var sent flags
	if err := decode(w, r, mostBody, &sent); err != nil {
		return nil, nil, err
	}
	args, err := s.commandLine(j, command, known, sent)
	return append(args, s.figures().args()...), sent, err
}

func (j job) keepFlags(command string, typed flags) error {
	kept := j.settings()
	kept.Flags[command] = maps.Clone(typed)
	delete(kept.Flags[command], "sd") // another card next time
	return j.keep(kept)
}

// typed keeps what was typed for a command, right or not, and runs nothing.
func (s *Server) typed(j job, w http.ResponseWriter, r *http.Request) (any, error) {
	command := r.PathValue("command")
	known, ok := accepted[command]
	if !ok {
		return nil, errNoCommand
	}
	var sent flags
	if err := decode(w, r, mostBody, &sent); err != nil {
		return nil, err
	}
	for _, name := range sorted(sent) {
		if _, ok := known[name]; !ok {
			return nil, refuse(fmt.Sprintf("%s takes no %q here.", command, name))
		}
	}
	return struct{}{}, j.keepFlags(command, sent)
}

func (s *Server) commandLine(j job, command string, known map[string]kind, sent flags) ([]string, error) {
	args := []string{command}
	for _, name := range sorted(sent) {
		k, ok := known[name]
		if !ok {
			return nil, refuse(fmt.Sprintf("%s takes no %q here.", command, name))
		}
		for _, value := range sent[name] {
			arg, err := s.argument(j, name, value, k)
			if err != nil {
				return nil, err
			}
			args = append(args, arg)
		}
	}
	client := j.settings().Client
	if client == "" {
		return nil, refuse("This job has no boundary file yet.")
	}
	path, err := j.path(client)
	if err != nil {
		return nil, err
	}
	record := boundary.OutputName(strings.TrimSuffix(client, filepath.Ext(client))) + ".job.geojson"
	switch command {
	case "vet", "prepare":
		return append(args, path), nil
	}
	if command != "photos" {
		recordPath, err := j.path(record)
		if err != nil {
			return nil, refuse("The flight area is not prepared yet.")
		}
		args = append(args, "--job="+recordPath)
	}
	if command == "plan" {
		return args, nil
	}
	photos, err := j.path(photosName)
	if err != nil {
		return nil, refuse("This job has no photos yet.")
	}
	return append(args, photos), nil
}

// argument is one flag of a command line. The value is part of the same word, so
// that it cannot pass for another flag.
func (s *Server) argument(j job, name, value string, k kind) (string, error) {
	if len(value) > 1000 || strings.ContainsFunc(value, unicode.IsControl) {
		return "", refuse("What was typed for " + name + " is too long, or not text.")
	}
	switch k {
	case toggle:
		if value != "" {
			return "", refuse(name + " is on or off.")
		}
		return "--" + name, nil
	case file:
		path, err := j.path(value)
		return "--" + name + "=" + path, err
	case card:
		if !slices.Contains(s.engine.Cards(), value) {
			return "", refuse("That card is not in this computer any more.")
		}
	case fileWith:
		fileName, length, with := strings.Cut(value, ":")
		path, err := j.path(fileName)
		if with {
			path += ":" + length
		}
		return "--" + name + "=" + path, err
	}
	return "--" + name + "=" + value, nil
}
