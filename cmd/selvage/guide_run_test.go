package main

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"selvage/cmd/selvage/demo"
)

// outcomeOf runs a command line as a shell would, in the current folder, and
// returns what it printed. A part "> FILE" at its end is taken as a shell takes it.
func outcomeOf(line string) (status int, out, complaint string, err error) {
	line, file, redirected := strings.Cut(line, " > ")
	words, err := shellWords(line)
	if err == nil && (len(words) == 0 || words[0] != "selvage") {
		err = errors.New("this is no command of Selvage")
	}
	if err != nil {
		return couldNotRun, "", "", err
	}
	var stdout, stderr bytes.Buffer
	status = run(terminal{out: &stdout, err: &stderr}, words[1:])
	if redirected {
		return status, "", stderr.String(), os.WriteFile(file, stdout.Bytes(), 0o666)
	}
	return status, stdout.String(), stderr.String(), nil
}

// shellWords divides a line at blanks outside double quotes, which all shells
// take alike. What they do not is an error.
func shellWords(line string) ([]string, error) {
	if i := strings.IndexAny(line, "'`$^&|;*?()<>%"); i >= 0 {
		return nil, fmt.Errorf("shells differ about %q", line[i])
	}
	var words []string
	for i, piece := range strings.Split(line, `"`) {
		if i%2 == 1 {
			words = append(words, piece)
		} else {
			words = append(words, strings.Fields(piece)...)
		}
	}
	return words, nil
}

// block is a fenced block of a page.
type block struct {
	line  int // of the page, where it begins
	kind  string
	lines []string
}

func blocksOf(text string) []block {
	var blocks []block
	open := false
	for i, line := range strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n") {
		kind, fence := strings.CutPrefix(line, "```")
		switch {
		case fence && !open:
			blocks = append(blocks, block{line: i + 2, kind: kind})
		case !fence && open:
			last := &blocks[len(blocks)-1]
			last.lines = append(last.lines, line)
		}
		open = open != fence
	}
	return blocks
}

// The commands of the guide are run in its order, in the folder that the first
// one makes. A block "sh" or "sh exits 1" holds commands, which end with that
// status; a block "text" after it holds what the last of them prints, with a
// line of dots for what is not shown; a block "text FILE" holds what is in a file.
func TestGuideTasks(t *testing.T) {
	read := map[string][]block{}
	for _, page := range taskPages {
		text, err := guidePage(page.name)
		if err != nil {
			t.Fatal(err)
		}
		read[page.name] = blocksOf(text)
	}
	t.Chdir(t.TempDir())
	for _, page := range taskPages {
		ran, shown := 0, 0
		printed := ""
		for _, b := range read[page.name] {
			at := fmt.Sprintf("%s.md:%d", page.name, b.line)
			kind, rest, _ := strings.Cut(b.kind, " ")
			switch kind {
			case "sh":
				want := allWell
				if rest != "" {
					if _, err := fmt.Sscanf(rest, "exits %d", &want); err != nil {
						t.Fatalf("%s: %s", at, b.kind)
					}
				}
				for _, line := range b.lines {
					if folder, ok := strings.CutPrefix(line, "cd "); ok {
						t.Chdir(folder)
						continue
					}
					status, out, complaint, err := outcomeOf(line)
					if err != nil || complaint != "" || status != want {
						t.Fatalf("%s: %s\nstatus %d, want %d: %v\n%s", at, line, status, want, err, complaint)
					}
					printed = out
					ran++
				}
			case "text":
				got := printed
				if rest != "" {
					data, err := os.ReadFile(rest)
					if err != nil {
						t.Fatalf("%s: %v", at, err)
					}
					got = string(data)
				}
				if missing := notShown(b.lines, got); missing != "" {
					t.Errorf("%s: this is not printed: %s\nbut:\n%s", at, missing, got)
				}
				shown++
			default:
				t.Errorf("%s: a block of kind %q, which nothing checks", at, b.kind)
			}
		}
		if ran < 2 || shown < 2 {
			t.Errorf("%s: only %d commands and %d outputs", page.name, ran, shown)
		}
	}
}

// notShown returns the first of the lines that does not follow the one before
// it in a text, "" if all do. A line of dots stands for any lines; without one
// at the beginning and the end, these are those of the text.
func notShown(lines []string, text string) string {
	if filepath.Separator != '/' {
		text = strings.ReplaceAll(text, string(filepath.Separator), "/")
	}
	rest := strings.Split(strings.TrimRight(text, "\n"), "\n")
	skip := false
	for _, line := range lines {
		if line == "..." {
			skip = true
			continue
		}
		at := slices.Index(rest, line)
		if at < 0 || at > 0 && !skip {
			return line
		}
		rest, skip = rest[at+1:], false
	}
	if len(rest) > 0 && !skip {
		return "the end"
	}
	return ""
}

func TestNotShown(t *testing.T) {
	const text = "a\nb\nc\nd\n"
	for _, c := range []struct{ lines, want string }{
		{"a b c d", ""}, {"a ... d", ""}, {"... c ...", ""}, {"... b c ...", ""}, {"...", ""},
		{"a c d", "c"}, {"b c d", "b"}, {"a b c", "the end"}, {"... x ...", "x"}, {"... c b ...", "b"}, {"a a", "a"},
	} {
		if got := notShown(strings.Fields(c.lines), text); got != c.want {
			t.Errorf("%s: %q, want %q", c.lines, got, c.want)
		}
	}
}

// Every example of the help and of the README runs, beside the files that it names.
func TestExamples(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	lines := examplesIn(help())
	for _, c := range commands() {
		lines = append(lines, examplesIn(c.help(flagsOf(c)))...)
	}
	for _, b := range blocksOf(string(readme)) {
		for _, line := range b.lines {
			if strings.HasPrefix(line, "selvage ") {
				lines = append(lines, line)
			}
		}
	}
	slices.Sort(lines)
	lines = slices.Compact(lines)
	// The desk runs until it is closed; its tests open and close it.
	lines = slices.DeleteFunc(lines, func(line string) bool { return strings.HasPrefix(line, "selvage desk") })
	if len(lines) < len(commands()) {
		t.Errorf("only %d examples", len(lines))
	}
	files := exampleFiles(t)
	for _, line := range lines {
		t.Chdir(t.TempDir())
		line = strings.NewReplacer(`E:\`, "card-e/", `F:\`, "card-f/").Replace(line)
		for path, data := range files {
			named, _, _ := strings.Cut(path, "*")
			if strings.Contains(line, named) || strings.HasPrefix(line, "selvage verify") { // which names what the note names

				writeExample(t, strings.Replace(path, "*", "", 1), data)
			}
		}
		status, out, complaint, err := outcomeOf(line)
		if err != nil || complaint != "" || status == couldNotRun {
			t.Errorf("%s\nstatus %d: %v\n%s%s", line, status, err, complaint, out)
		}
	}
}

// examplesIn returns the command lines at the end of a help text.
func examplesIn(help string) []string {
	var lines []string
	_, example, _ := strings.Cut(help, "Example:\n")
	for line := range strings.Lines(strings.ReplaceAll(example, " \\\n", " ")) {
		if line, ok := strings.CutPrefix(line, "  "); ok {
			lines = append(lines, strings.TrimSpace(line))
		}
	}
	return lines
}

func writeExample(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

// exampleFiles are the files that examples name, from the invented job. What
// stands before a star is the folder that they name.
func exampleFiles(t *testing.T) map[string][]byte {
	t.Helper()
	client := bytes.ReplaceAll(demo.Client().Data, []byte("Haul road (invented)"), []byte("North"))
	files := map[string][]byte{
		"client.kml":             client,
		"road.kml":               client, // which has a path too
		"pond.kml":               []byte(`{"type": "Polygon", "coordinates": [[[2.297, 54.699], [2.298, 54.699], [2.298, 54.6995], [2.297, 54.699]]]}`),
		"card-e/*DCIM/about.txt": []byte("A card in a slot."),
	}
	shots, err := demo.Shots()
	if err != nil {
		t.Fatal(err)
	}
	files["IMG_0001.jpg"] = shots[10].Data
	for _, shot := range slices.Concat(shots[:40], shots[200:220]) {
		files["DCIM*/"+strings.TrimPrefix(shot.Name, demo.Photos+"/")] = shot.Data
	}
	t.Chdir(t.TempDir())
	for path, data := range files {
		writeExample(t, strings.Replace(path, "*", "", 1), data)
	}
	var archive bytes.Buffer
	z := zip.NewWriter(&archive)
	w, err := z.Create("client.shp")
	if err == nil {
		_, err = w.Write(polygonShapefile(611289, 55273, 611289, 55373, 611389, 55373, 611389, 55273))
	}
	if err := errors.Join(err, z.Close()); err != nil {
		t.Fatal(err)
	}
	files["client.zip"] = archive.Bytes()
	for _, line := range []string{
		"selvage prepare client.kml --buffer 30m --format kml,kmz --out job",
		"selvage photos DCIM --out centres",
		"selvage audit --job job/client.job.geojson DCIM --ground 132m --out job",
		"selvage plan --job job/client.job.geojson --sample IMG_0001.jpg --height 80m --overlap 75/70 --json > plan.json",
	} {
		if status, out, complaint, err := outcomeOf(line); err != nil || status == couldNotRun {
			t.Fatalf("%s: %v\n%s%s", line, err, complaint, out)
		}
	}
	for path, made := range map[string]string{
		"client.kmz":                      "job/client-flight.kmz",
		"job/client.job.geojson":          "job/client.job.geojson",
		"job/client-coverage.json":        "job/client-coverage.json",
		"from-pilot/client-coverage.json": "job/client-coverage.json",
		"boundaries/client.job.geojson":   "job/client.job.geojson",
		"first/client-coverage.json":      "job/client-coverage.json",
		"second/client-coverage.json":     "job/client-coverage.json",
		"positions.csv":                   "centres/*.csv",
		"corrected.csv":                   "centres/*.csv",
		"plan.json":                       "plan.json",
	} {
		found, err := filepath.Glob(made)
		if err != nil || len(found) != 1 {
			t.Fatalf("%s: %v, %v", made, found, err)
		}
		if files[path], err = os.ReadFile(found[0]); err != nil {
			t.Fatal(err)
		}
	}
	for path, data := range maps.Clone(files) {
		if photo, ok := strings.CutPrefix(path, "DCIM*/"); ok {
			card := "card-e/DCIM*/"
			if strings.HasPrefix(photo, "flight-2") {
				card = "card-f/DCIM*/"
			}
			files[card+photo] = data
		}
	}
	return files
}
