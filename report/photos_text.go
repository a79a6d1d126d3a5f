package report

import (
	"bufio"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
)

// PhotoList is what was read of photos.
type PhotoList struct {
	Photos   []photo.Photo
	LeftOut  []photo.LeftOut
	Repeated int          // further ways to a photo that was read
	Passed   finding.Text // what was not looked into
	Folders  []PhotoFolder
	Sensors  []PhotoSensor
	Values   []PhotoValue
	Findings []finding.Finding
	Files    []File
	Units    Units
}

// PhotoFolder counts the photos of one folder, or with no name those that were
// named singly or in a table. From and To are zero when no photo says its time.
type PhotoFolder struct {
	Name            string
	Photos, LeftOut int
	From, To        time.Time
}

// PhotoSensor counts the photos of one camera, lens and setting.
type PhotoSensor struct {
	Name   string
	Photos int
	Camera photo.Camera // of the first photo
	Source string       // of the sensor size, in words
}

// PhotoValue says how many photos have a value, and where it was read.
type PhotoValue struct {
	Name  string
	Known int
	From  []PhotoSource
}

// PhotoSource is a source of a value, in words, and how many photos have it
// from there.
type PhotoSource struct {
	Name   string
	Photos int
}

// WritePhotosText writes what was read for a terminal. Of many photos the
// first and the last are shown, unless all are wanted.
func WritePhotosText(w io.Writer, l PhotoList, all bool, style Style) error {
	out := bufio.NewWriter(w)
	heading := func(s string) { fmt.Fprintf(out, "\n%s\n", style.Bold(s)) }
	fmt.Fprintln(out, style.Bold(l.headline()))
	for _, line := range l.besides() {
		fmt.Fprintf(out, "  %s\n", line)
	}

	if len(l.Folders) > 0 {
		heading("Folders")
		rows := [][]string{{"folder", "photos", "left out", "from", "to", ""}}
		for _, f := range l.Folders[:min(len(l.Folders), mostRows)] {
			row := []string{cmp.Or(Clean(f.Name), "(single files and tables)"), l.Units.Number(f.Photos), l.Units.Number(f.LeftOut)}
			if !f.From.IsZero() {
				row = append(row, f.From.UTC().Format("2006-01-02 15:04:05"), f.To.UTC().Format("2006-01-02 15:04:05"), Lasting(f.To.Sub(f.From).Seconds()))
			}
			rows = append(rows, row)
		}
		writeColumns(out, rows)
		if more := len(l.Folders) - mostRows; more > 0 {
			fmt.Fprintf(out, "  … and %s more\n", l.Units.Number(more))
		}
	}
	if len(l.Sensors) > 0 {
		heading("Sensors")
		rows := [][]string{{"no.", "photos", "camera", "sensor size"}}
		for i, s := range l.Sensors[:min(len(l.Sensors), mostRows)] {
			size := l.Units.unknown()
			if s.Camera.SensorWidth > 0 {
				size = fmt.Sprintf("%.4g × %.4g mm", s.Camera.SensorWidth, s.Camera.SensorHeight)
			}
			rows = append(rows, []string{l.Units.Number(i + 1), l.Units.Number(s.Photos), Clean(s.Name), size})
		}
		writeColumns(out, rows)
		if more := len(l.Sensors) - mostRows; more > 0 {
			fmt.Fprintf(out, "  … and %s more\n", l.Units.Number(more))
		}
	}
	if len(l.Photos) > 0 {
		heading("What the photos say")
		rows := [][]string{{"value", "photos", "read from"}}
		for _, v := range l.Values {
			from := make([]string, len(v.From))
			for i, s := range v.From {
				if from[i] = Clean(s.Name); len(v.From) > 1 {
					from[i] = l.Units.Number(s.Photos) + " " + from[i]
				}
			}
			known := l.Units.Number(v.Known)
			switch v.Known {
			case len(l.Photos):
				known = "all"
			case 0:
				known = style.Warn("none")
			}
			rows = append(rows, []string{v.Name, known, strings.Join(from, ", ")})
		}
		writeColumns(out, rows)
		heading("Photos")
		l.writePhotos(out, all)
	}
	if len(l.LeftOut) > 0 {
		heading("Left out")
		for _, r := range reasons(l.LeftOut) {
			const most = 3
			names := strings.Join(r.Files[:min(len(r.Files), most)], ", ")
			if len(r.Files) > most {
				names += ", …"
			}
			for i, line := range Wrap(fmt.Sprintf("%s: %s (%s)", l.Units.Number(len(r.Files)), l.Units.Sentence(r.Reason), names), textWidth-4) {
				indent := "  "
				if i > 0 {
					indent = "    "
				}
				fmt.Fprintln(out, indent+line)
			}
		}
	}
	if len(l.Findings) > 0 {
		heading("Findings")
		writeFindings(out, l.Units, l.Findings, style)
	}
	if len(l.Files) > 0 {
		heading("Files")
		var rows [][]string
		for _, f := range l.Files {
			rows = append(rows, []string{Clean(f.Role), Clean(f.Path)})
		}
		writeColumns(out, rows)
	}
	return out.Flush()
}

func (l PhotoList) headline() string {
	folders := 0
	for _, f := range l.Folders {
		if f.Name != "" {
			folders++
		}
	}
	text := l.Units.Count(len(l.Photos), "photo", "photos")
	if folders > 0 {
		text += " in " + l.Units.Count(folders, "folder", "folders")
	}
	return text
}

// besides are the lines below the headline.
func (l PhotoList) besides() []string {
	var lines []string
	if n := len(l.LeftOut); n > 0 {
		lines = append(lines, l.Units.Count(n, "photo is", "photos are")+" left out.")
	}
	if n := l.Repeated; n > 0 {
		lines = append(lines, l.Units.Count(n, "photo was", "photos were")+" met more than once, and counted once.")
	}
	if !l.Passed.Empty() {
		lines = append(lines, Wrap("Passed over: "+l.Units.Sentence(l.Passed)+".", textWidth-2)...)
	}
	return lines
}

// fewShown is how many photos are shown from the beginning where not all are.
const fewShown = 5

func (l PhotoList) writePhotos(out *bufio.Writer, all bool) {
	rows := [][]string{{"file", "time (UTC)", "position", "altitude", "height", "yaw", "pitch", "roll"}}
	n := len(l.Photos)
	left := 0
	for i := range l.Photos {
		if !all && n > fewShown+2 && i >= fewShown && i < n-1 {
			left++
			continue
		}
		rows = append(rows, l.row(&l.Photos[i]))
	}
	writeColumns(out, rows)
	if left > 0 {
		fmt.Fprintf(out, "  %s between the last two are not shown; --all shows all\n", l.Units.Number(left))
	}
}

func (l PhotoList) row(p *photo.Photo) []string {
	length := func(m float64) string {
		if !finite(m) {
			return "–"
		}
		return l.Units.Short().Chainage(m)
	}
	degrees := func(x float64) string {
		if !finite(x) {
			return "–"
		}
		return l.Units.fixed(x, 1) + "°"
	}
	taken := "–"
	if !p.Time.IsZero() {
		taken = p.Time.UTC().Format("2006-01-02 15:04:05")
	}
	return []string{Clean(p.File), taken, Position(p.Position), length(p.Altitude), length(p.Height), degrees(p.Yaw), degrees(p.Pitch), degrees(p.Roll)}
}

// Lasting writes a time given in seconds.
func Lasting(seconds float64) string {
	s := int(math.Round(seconds))
	switch h, min := s/3600, s/60%60; {
	case h > 0:
		return fmt.Sprintf("%d h %d min", h, min)
	case min > 0:
		return fmt.Sprintf("%d min %d s", min, s%60)
	}
	return fmt.Sprintf("%d s", s)
}

type photoListJSON struct {
	Photos struct {
		Read     int           `json:"read"`
		Used     int           `json:"used"`
		LeftOut  []leftOutJSON `json:"left_out"`
		Repeated int           `json:"repeated"`
	} `json:"photos"`
	PassedOver string            `json:"passed_over"`
	Folders    []folderJSON      `json:"folders"`
	Sensors    []sensorJSON      `json:"sensors"`
	Values     []valueJSON       `json:"values"`
	List       []photoJSON       `json:"list"`
	Findings   []finding.Finding `json:"findings"`
	Files      []File            `json:"files"`
}

type folderJSON struct {
	Name    string `json:"name"`
	Photos  int    `json:"photos"`
	LeftOut int    `json:"left_out"`
	From    string `json:"from"` // "" when no photo says its time
	To      string `json:"to"`
}

type sensorJSON struct {
	Number      int     `json:"number"`
	Name        string  `json:"name"`
	Photos      int     `json:"photos"`
	Columns     int     `json:"columns"` // 0 is not known, also below
	Rows        int     `json:"rows"`
	FocalLength rounded `json:"focal_mm"`
	Width       rounded `json:"sensor_width_mm"`
	Height      rounded `json:"sensor_height_mm"`
	Source      string  `json:"sensor_source"`
}

type valueJSON struct {
	Name    string       `json:"name"`
	Known   int          `json:"known"`
	Sources []sourceJSON `json:"sources"`
}

type sourceJSON struct {
	Name   string `json:"name"`
	Photos int    `json:"photos"`
}

// WritePhotosJSON writes what was read as one JSON object with every photo.
func WritePhotosJSON(w io.Writer, l PhotoList) error {
	out := photoListJSON{
		PassedOver: Clean(l.Passed.String()), Folders: []folderJSON{}, Sensors: []sensorJSON{}, Values: []valueJSON{}, List: []photoJSON{},
		Findings: append([]finding.Finding{}, l.Findings...), Files: append([]File{}, l.Files...),
	}
	out.Photos.Read, out.Photos.Used = len(l.Photos)+len(l.LeftOut), len(l.Photos)
	out.Photos.LeftOut, out.Photos.Repeated = []leftOutJSON{}, l.Repeated
	for _, left := range l.LeftOut {
		out.Photos.LeftOut = append(out.Photos.LeftOut, leftOutJSON{Clean(left.File), Clean(left.Reason.String()), left.Reason.Said()})
	}
	for _, f := range l.Folders {
		out.Folders = append(out.Folders, folderJSON{Clean(f.Name), f.Photos, f.LeftOut, moment(f.From), moment(f.To)})
	}
	for i, s := range l.Sensors {
		c := s.Camera
		out.Sensors = append(out.Sensors, sensorJSON{
			i + 1, Clean(s.Name), s.Photos, c.Columns, c.Rows,
			rounded{c.FocalLength, 4}, rounded{c.SensorWidth, 4}, rounded{c.SensorHeight, 4}, Clean(s.Source),
		})
	}
	for _, v := range l.Values {
		value := valueJSON{v.Name, v.Known, []sourceJSON{}}
		for _, s := range v.From {
			value.Sources = append(value.Sources, sourceJSON{Clean(s.Name), s.Photos})
		}
		out.Values = append(out.Values, value)
	}
	for i := range l.Photos {
		p := &l.Photos[i]
		shown := photoJSONOf(p)
		lon, lat := longitude(p.Position), latitude(p.Position)
		shown.Lon, shown.Lat = &lon, &lat
		out.List = append(out.List, shown)
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(out)
}
