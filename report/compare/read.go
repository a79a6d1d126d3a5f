package compare

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode/utf16"

	"selvage/report"
)

// Record is an audit or a plan as its JSON tells it.
type Record struct {
	Name, SHA256 string
	Text         []byte // the JSON, in UTF-8
	Audit        *Audit // or
	Plan         *Plan
	Lacking      []string // keys of today's records that it does not have
	Shapes       *Shapes  // of an audit; nil without its GeoJSON
}

// amount is a figure of a record; nil stands for one that was not known.
type amount = *float64

// Audit has what report.WriteJSON wrote, by the same names.
type Audit struct {
	Version  string `json:"version"`
	Units    string `json:"units"`
	SiteArea amount `json:"site_area_m2"`
	Wanted   struct {
		Views   amount `json:"views"`
		Forward amount `json:"forward_overlap"`
		Side    amount `json:"side_overlap"`
		GSD     amount `json:"gsd_mm"`
	} `json:"wanted"`
	Inputs     []report.Input     `json:"inputs"`
	Parameters []report.Parameter `json:"parameters"`
	Command    *report.Command    `json:"command"` // nil in records of older versions
	Flown      struct {
		Cameras    []cameraRecord `json:"cameras"`
		Height     spreadRecord   `json:"height_m"`
		LinePhotos amount         `json:"line_photos"`
		LineLength amount         `json:"line_length_m"`
		Track      amount         `json:"track_m"`
		Time       amount         `json:"time_s"`
	} `json:"flown"`
	Photos struct {
		Read    amount `json:"read"`
		Used    amount `json:"used"`
		LeftOut []struct {
			File   string `json:"file"`
			Reason string `json:"reason"`
		} `json:"left_out"`
	} `json:"photos"`
	Totals struct {
		Gap          amount `json:"gap_m2"`
		NoStereo     amount `json:"no_stereo_m2"`
		Thin         amount `json:"thin_m2"`
		CoveredShare amount `json:"covered_share"`
		EnoughShare  amount `json:"enough_share"`
	} `json:"totals"`
	Zones []zoneRecord `json:"zones"`
	Edge  struct {
		Length      amount     `json:"length_m"`
		Captured    amount     `json:"captured_m"`
		WantedViews amount     `json:"wanted_views"`
		Stretches   []struct{} `json:"stretches"`
	} `json:"edge"`
	Overlap struct {
		Forward spreadRecord `json:"forward"`
		Side    spreadRecord `json:"side"`
	} `json:"overlap"`
	GSD     spreadRecord `json:"gsd_mm"`
	Flights []struct {
		Start    *string `json:"start"`
		End      *string `json:"end"`
		Interval amount  `json:"interval_s"`
	} `json:"flights"`
	Lines []struct{} `json:"lines"`
	Speed struct {
		Speed amount `json:"speed_m_s"`
	} `json:"speed"`
	Files []report.File `json:"files"`
}

type spreadRecord struct {
	Median amount `json:"median"`
	Min    amount `json:"min"`
	Max    amount `json:"max"`
	Below  amount `json:"below_share"`
}

type zoneRecord struct {
	Kind string  `json:"kind"`
	Area float64 `json:"area_m2"`
}

type cameraRecord struct {
	SensorWidth  float64 `json:"sensor_width_mm"`
	SensorHeight float64 `json:"sensor_height_mm"`
	FocalLength  float64 `json:"focal_length_mm"`
	Columns      int     `json:"columns"`
	Rows         int     `json:"rows"`
}

// Plan has what selvage plan printed as JSON, by the same names.
type Plan struct {
	cameraRecord
	Area         amount `json:"area_m2"`
	Height       amount `json:"height_m"`
	GSD          amount `json:"gsd_mm"`
	Forward      amount `json:"forward_overlap"`
	Side         amount `json:"side_overlap"`
	Lines        amount `json:"lines"`
	LineLength   amount `json:"line_length_m"`
	Photos       amount `json:"photos"`
	Track        amount `json:"track_m"`
	Speed        amount `json:"speed_m_s"`
	BlurSpeed    amount `json:"blur_speed_m_s"`
	TriggerSpeed amount `json:"trigger_speed_m_s"`
	Interval     amount `json:"interval_s"`
	FlightTime   amount `json:"flight_time_s"`
}

// Keys that make a record an audit or a plan, and those that it should have
// besides: older versions wrote fewer.
var (
	auditKeys = []string{"site_area_m2", "totals", "photos"}
	auditMore = []string{"edge", "overlap", "gsd_mm", "zones", "flights", "lines", "speed", "wanted", "inputs", "parameters", "flown"}
	planKeys  = []string{"lines", "photos", "air_base_m"}
	planMore  = []string{
		"area_m2", "height_m", "gsd_mm", "forward_overlap", "side_overlap", "line_length_m", "track_m",
		"speed_m_s", "interval_s", "flight_time_s", "sensor_width_mm", "sensor_height_mm", "focal_length_mm",
	}
)

// Read reads the JSON of an audit or of a plan. Keys that it does not know do not
// matter. sha256 is that of data, in hexadecimal. An error is a sentence that
// begins with the name.
func Read(name string, data []byte, sha256 string) (*Record, error) {
	fail := func(format string, args ...any) error {
		return fmt.Errorf("%s "+format, append([]any{report.Clean(name)}, args...)...)
	}
	text := bytes.TrimSpace(utf8Text(data))
	if len(text) == 0 {
		return nil, fail("is empty")
	}
	if text[0] != '{' {
		return nil, fail("is not the JSON of an audit or a plan; %s", whatToGive)
	}
	if err := uncrowded(text); err != nil {
		return nil, fail("%w", err)
	}
	var object map[string]json.RawMessage
	switch err := json.Unmarshal(text, &object); {
	case errors.Is(err, io.ErrUnexpectedEOF) || err != nil && strings.Contains(err.Error(), "unexpected end"):
		return nil, fail("ends in the middle; it was not written whole")
	case err != nil:
		return nil, fail("is not JSON (%v); %s", err, whatToGive)
	}
	has := func(keys []string) bool {
		return !slices.ContainsFunc(keys, func(k string) bool { return object[k] == nil })
	}
	r := &Record{Name: report.Clean(name), SHA256: sha256, Text: text}
	var into any
	var more []string
	switch {
	case has(auditKeys):
		r.Audit, more = &Audit{}, auditMore
		into = r.Audit
	case has(planKeys):
		r.Plan, more = &Plan{}, planMore
		into = r.Plan
	default:
		return nil, fail("%s", foreign(object))
	}
	for _, key := range slices.Sorted(maps.Keys(mostObjects)) {
		if most := mostObjects[key]; bytes.Count(object[key], []byte("{")) > most {
			return nil, fail("has more than the limit of %d entries in %s", most, key)
		}
	}
	if err := json.Unmarshal(text, into); err != nil {
		var wrong *json.UnmarshalTypeError
		if errors.As(err, &wrong) {
			return nil, fail("was changed by hand or by another program: %s cannot be a %s", wrong.Field, wrong.Value)
		}
		return nil, fail("cannot be read: %v", err)
	}
	for _, key := range more {
		if object[key] == nil {
			r.Lacking = append(r.Lacking, key)
		}
	}
	if err := r.check(); err != nil {
		return nil, fail("was changed by hand or by another program: %w", err)
	}
	return r, nil
}

// Bounds of what an audit may have, which takes memory and time however short
// it is.
const (
	mostEntries = 4_000_000 // of its JSON
	mostCorners = 250_000   // of its areas
)

var mostObjects = map[string]int{"zones": 1_000_000, "inputs": 100_000, "parameters": 100_000, "flown": 1000}

func uncrowded(text []byte) error {
	if bytes.Count(text, []byte(",")) > mostEntries {
		return fmt.Errorf("has more than the limit of %d entries", mostEntries)
	}
	return nil
}

const whatToGive = "give the NAME-coverage.json that selvage audit wrote, or what selvage plan --json printed, saved to a file"

// foreign says what JSON it is that is neither an audit nor a plan.
func foreign(object map[string]json.RawMessage) string {
	is := func(keys ...string) bool {
		return !slices.ContainsFunc(keys, func(k string) bool { return object[k] == nil })
	}
	switch {
	case is("type", "features"):
		return "is a file of shapes; give the NAME-coverage.json beside it"
	case is("sensors"):
		return "holds the audits of several sensors; give the file of one, such as NAME-coverage-1.json"
	case is("kind", "figures"):
		return "is a comparison already; " + whatToGive
	case is("client_area_m2", "flight_area_m2"):
		return "is what selvage prepare printed; " + whatToGive
	case is("file", "sha256", "vertices"):
		return "is what selvage vet printed; " + whatToGive
	case is("site_area_m2"), is("totals"):
		var missing []string
		for _, k := range auditKeys {
			if object[k] == nil {
				missing = append(missing, k)
			}
		}
		return "looks like an audit, but lacks " + strings.Join(missing, " and ")
	}
	return "is JSON, but not of an audit or a plan; " + whatToGive
}

// utf8Text turns what a shell may have made of text back into UTF-8.
func utf8Text(data []byte) []byte {
	var order binary.ByteOrder = binary.LittleEndian
	switch {
	case bytes.HasPrefix(data, []byte{0xEF, 0xBB, 0xBF}):
		return data[3:]
	case bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		order = binary.BigEndian
	case !bytes.HasPrefix(data, []byte{0xFF, 0xFE}):
		return data
	}
	units := make([]uint16, 0, len(data)/2)
	for i := 2; i+1 < len(data); i += 2 {
		units = append(units, order.Uint16(data[i:]))
	}
	return []byte(string(utf16.Decode(units)))
}

// check finds figures that no audit and no plan can have.
func (r *Record) check() error {
	figures := map[string]amount{}
	for _, f := range figuresOf(r) {
		figures[f.Key] = f.from(r)
	}
	for _, key := range slices.Sorted(maps.Keys(figures)) {
		switch x := figures[key]; {
		case x == nil:
		case *x < 0:
			return fmt.Errorf("%s is %g, below zero", key, *x)
		case *x > 1 && strings.HasSuffix(key, "_share"):
			return fmt.Errorf("%s is %g, more than all", key, *x)
		case *x > 1e15:
			return fmt.Errorf("%s is %g, which cannot be", key, *x)
		}
	}
	if r.Audit == nil {
		return nil
	}
	if err := checkCommand(r.Audit.Command); err != nil {
		return err
	}
	for i, z := range r.Audit.Zones {
		if z.Area < 0 || kindIndex(z.Kind) < 0 {
			return fmt.Errorf("zone %d is a %q of %g m²", i+1, report.Shortened(report.Clean(z.Kind), 60), z.Area)
		}
	}
	return nil
}

// checkCommand finds what no audit was given.
func checkCommand(c *report.Command) error {
	const mostFlags, mostArguments, longest = 1000, 1_000_000, 4096
	if c == nil {
		return nil
	}
	if len(c.Flags) > mostFlags || len(c.Arguments) > mostArguments {
		return fmt.Errorf("command has %s and %s", report.Count(len(c.Flags), "flag", "flags"), report.Count(len(c.Arguments), "argument", "arguments"))
	}
	for _, g := range c.Flags {
		if len(g.Name)+len(g.Value) > longest {
			return fmt.Errorf("a flag of command has %s characters", report.Number(len(g.Name)+len(g.Value)))
		}
	}
	for _, a := range c.Arguments {
		if len(a.Name)+len(a.Path) > longest {
			return fmt.Errorf("an argument of command has %s characters", report.Number(len(a.Name)+len(a.Path)))
		}
	}
	return nil
}

// or is a figure, or NaN where it is not known.
func or(x amount) float64 {
	if x == nil {
		return math.NaN()
	}
	return *x
}

func known(x float64) bool { return !math.IsNaN(x) }
