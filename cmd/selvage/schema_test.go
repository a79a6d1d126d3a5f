package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/rogpeppe/go-internal/testscript"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/report"
)

// compiledSchemas are the schemas by name. To compile one holds it against the
// schema of schemas.
var compiledSchemas = sync.OnceValues(func() (map[string]*jsonschema.Schema, error) {
	c := jsonschema.NewCompiler()
	for _, name := range report.SchemaNames() {
		text, err := report.Schema(name)
		if err != nil {
			return nil, err
		}
		document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			return nil, err
		}
		if err := c.AddResource(name+".json", document); err != nil {
			return nil, err
		}
	}
	all := map[string]*jsonschema.Schema{}
	for _, name := range report.SchemaNames() {
		var err error
		if all[name], err = c.Compile(name + ".json"); err != nil {
			return nil, err
		}
	}
	return all, nil
})

// validate holds JSON against the schema of a name.
func validate(name string, data []byte) error {
	schemas, err := compiledSchemas()
	if err != nil {
		return err
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		return err
	}
	return schemas[name].Validate(value)
}

// valid NAME FILE: the file is as the schema has it.
func scriptValid(ts *testscript.TestScript, negated bool, args []string) {
	if err := validate(args[0], []byte(ts.ReadFile(args[1]))); (err == nil) == negated {
		ts.Fatalf("%s: %v", args[0], err)
	}
}

// validRecords holds all notes and job records that a session left behind
// against their schemas.
func validRecords(t *testing.T, folder string) {
	record := regexp.MustCompile(`-coverage(-[0-9]+)?\.json$|\.job\.geojson$`)
	tooFine := regexp.MustCompile(`: -?[0-9]+\.[0-9]{9,}`)
	err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || !record.MatchString(path) {
			return err
		}
		name := "audit"
		if strings.HasSuffix(path, ".geojson") {
			name = "job"
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if err := validate(name, data); err != nil {
			t.Errorf("%s: %v", path, err)
		}
		if long := tooFine.Find(data); long != nil && name == "audit" {
			t.Errorf("%s: %s has more than 8 decimals", path, long)
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

// everyFigure has all parts that a text can have.
var everyFigure = finding.Sentences(
	finding.Say("%s at vertex %d of “%s”: %s, %s, %s, %s, %s.", finding.Start(finding.Say("part %d", 2)), 17, "North",
		finding.Area(1234.5), finding.Length(20.5), finding.Tenths(20.5), finding.Close(0.02), finding.Given(30)),
	finding.Say("%s, %s, %s, %s, %s, %s.", finding.Distance(12_000), finding.Far(40_000), finding.Stated(120), finding.Speed(8), finding.GSD(0.02), finding.Share(0.75)),
	finding.Tell(finding.Say("Ask for %s, 100 %%.", finding.Counted(3, "file", "files")), finding.Say("Please send %s.", finding.Whole(3))),
	finding.Plain("As it stands."),
)

// fillAll gives all that is exported a value that is not zero, and lists two
// elements.
func fillAll(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fillAll(v.Elem())
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() {
			v.Set(reflect.ValueOf(time.Date(2026, 5, 12, 9, 0, 0, 0, time.UTC)))
			return
		}
		if v.Type() == reflect.TypeFor[finding.Text]() {
			v.Set(reflect.ValueOf(everyFigure))
			return
		}
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				fillAll(v.Field(i))
			}
		}
	case reflect.Slice:
		if v.Type() == reflect.TypeFor[json.RawMessage]() {
			v.SetBytes(everyFigure.Said())
			return
		}
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fillAll(v.Index(0))
		fillAll(v.Index(1))
	case reflect.Array:
		for i := range v.Len() {
			fillAll(v.Index(i))
		}
	case reflect.String:
		if v.Type() == reflect.TypeFor[json.Number]() {
			v.SetString("1")
			return
		}
		v.SetString("words")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64:
		v.SetInt(1)
	case reflect.Uint16:
		v.SetUint(1)
	case reflect.Float64:
		v.SetFloat(1)
	}
}

func filled[T any]() T {
	var value T
	fillAll(reflect.ValueOf(&value).Elem())
	return value
}

// richRecords are records with every key that there is.
func richRecords(t *testing.T) map[string][]byte {
	t.Helper()
	hash := strings.Repeat("0123456789abcdef", 4)
	var audit, job bytes.Buffer
	note := filled[report.Note]()
	note.Units = report.Units{}
	note.Command.Name = "audit"
	for i := range note.Inputs {
		note.Inputs[i].SHA256 = hash
	}
	for i := range note.Audit.Zones {
		note.Audit.Zones[i].Kind = "thin"
	}
	for i := range note.Audit.Missed {
		note.Audit.Missed[i].Kind = "file missing"
	}
	if err := report.WriteJSON(&audit, note); err != nil {
		t.Fatal(err)
	}
	square := orb.Ring{{10, 50}, {10.001, 50}, {10.001, 50.001}, {10, 50.001}, {10, 50}}
	record := filled[boundary.Job]()
	record.ClientSHA256, record.Join = hash, "round"
	record.Client[0].Polygon, record.Client[1].Polygon = orb.Polygon{square}, orb.Polygon{square[:3]}
	for _, shape := range []*orb.MultiPolygon{&record.Site[0].Shape, &record.Site[1].Shape, &record.Flight[0].Shape, &record.Flight[1].Shape, &record.KeepOut[0].Shape, &record.KeepOut[1].Shape} {
		*shape = orb.MultiPolygon{{square}}
	}
	if err := boundary.WriteJob(&job, record); err != nil {
		t.Fatal(err)
	}
	receipt, prepared := filled[receiptMessage](), filled[preparedMessage]()
	receipt.SHA256 = hash
	receipt.Bound = append(receipt.Bound, receipt.Bound...)
	records := map[string][]byte{"audit": audit.Bytes(), "job": job.Bytes()}
	for name, message := range map[string]any{"vet": receipt, "prepare": prepared} {
		var out bytes.Buffer
		if err := writeMachine(&out, message); err != nil {
			t.Fatal(err)
		}
		records[name] = out.Bytes()
	}
	for name, data := range records {
		text := regexp.MustCompile(`"code": ?"words"`).ReplaceAll(data, []byte(`"code":"some-words"`))
		records[name] = regexp.MustCompile(`"severity": ?"words"`).ReplaceAll(text, []byte(`"severity":"note"`))
	}
	return records
}

// described is what a schema says of a key.
type described struct {
	required bool
	text     string // its descriptions, those of what is in it included
}

// keysOfSchema lists the keys that a schema allows, by paths such as
// zones[].area_m2.
func keysOfSchema(t *testing.T, name string) map[string]described {
	documents := map[string]any{}
	for _, n := range report.SchemaNames() {
		text, err := report.Schema(n)
		if err != nil {
			t.Fatal(err)
		}
		var document any
		if err := json.Unmarshal(text, &document); err != nil {
			t.Fatal(err)
		}
		documents[n+".json"] = document
	}
	out := map[string]described{}
	var walk func(node map[string]any, file, path string) string
	walk = func(node map[string]any, file, path string) string {
		text, _ := node["description"].(string)
		if to, is := node["$ref"].(string); is {
			in, pointer, _ := strings.Cut(to, "#/$defs/")
			if in == "" {
				in = file
			}
			target := documents[in].(map[string]any)["$defs"].(map[string]any)[pointer].(map[string]any)
			return text + " " + walk(target, in, path)
		}
		if items, is := node["items"].(map[string]any); is {
			text += " " + walk(items, file, path+"[]")
		}
		properties, is := node["properties"].(map[string]any)
		if !is {
			return text
		}
		if node["additionalProperties"] != false {
			t.Errorf("%s: %s allows any key", name, path)
		}
		required, _ := node["required"].([]any)
		for key, property := range properties {
			at := strings.TrimPrefix(path+"."+key, ".")
			if key == "said" { // is within itself
				out[at] = described{text: "parts"}
				continue
			}
			words := walk(property.(map[string]any), file, at)
			out[at] = described{slices.Contains(required, any(key)), words}
			text += " " + words
		}
		return text
	}
	walk(documents[name+".json"].(map[string]any), name+".json", "")
	return out
}

// keysOfValue lists the keys of a value likewise.
func keysOfValue(value any, path string, out map[string]bool) {
	switch value := value.(type) {
	case map[string]any:
		for k, v := range value {
			at := strings.TrimPrefix(path+"."+k, ".")
			out[at] = true
			if k != "said" {
				keysOfValue(v, at, out)
			}
		}
	case []any:
		for _, v := range value {
			keysOfValue(v, path+"[]", out)
		}
	}
}

// A schema has the keys of what is written, and no others.
func TestSchemasHaveAllKeys(t *testing.T) {
	for name, data := range richRecords(t) {
		if err := validate(name, data); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		var value any
		if err := json.Unmarshal(data, &value); err != nil {
			t.Fatal(err)
		}
		written := map[string]bool{}
		keysOfValue(value, "", written)
		schema := keysOfSchema(t, name)
		for _, key := range slices.Sorted(maps.Keys(schema)) {
			if !written[key] {
				t.Errorf("%s: nothing writes %s", name, key)
			}
		}
		for _, key := range slices.Sorted(maps.Keys(written)) {
			if _, there := schema[key]; !there {
				t.Errorf("%s: report/schema/%s.json lacks %s", name, name, key)
			}
		}
	}
}

// Every key is described, with the unit that its end names.
func TestSchemasDescribe(t *testing.T) {
	units := []struct{ end, word string }{
		{"_m2", "square metres"}, {"_m_s", "metres a second"}, {"_m", "metres"}, {"_mm", "millimetres"}, {"_px", "pixels"},
		{"_deg", "degrees"}, {"_s", "seconds"}, {"minutes", "minutes"}, {"lon", "degrees"}, {"lat", "degrees"}, {"_share", "share"}, {"_overlap", "share"},
	}
	for _, name := range []string{"audit", "vet", "prepare", "job"} {
		for key, is := range keysOfSchema(t, name) {
			if strings.TrimSpace(is.text) == "" {
				t.Errorf("%s: %s is not described", name, key)
			}
			for _, u := range units {
				if last := key[strings.LastIndexAny(key, ".")+1:]; strings.HasSuffix("_"+last, "_"+strings.TrimPrefix(u.end, "_")) {
					if !strings.Contains(strings.ToLower(is.text), u.word) {
						t.Errorf("%s: %s does not speak of %s: %s", name, key, u.word, is.text)
					}
					break
				}
			}
		}
	}
}

// A schema refuses a record that lacks a key, has one more, or has a value of
// another type.
func TestSchemasRefuse(t *testing.T) {
	for name, data := range richRecords(t) {
		schemas, err := compiledSchemas()
		if err != nil {
			t.Fatal(err)
		}
		schema := schemas[name]
		value, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		known := keysOfSchema(t, name)
		tried := 0
		refuses := func(what, path string) {
			tried++
			if schema.Validate(value) == nil {
				t.Errorf("%s: %s %s goes through", name, what, path)
			}
		}
		within := func(path string) bool { return strings.Contains(path, "said") } // where words may stand too
		var change func(node any, path string)
		change = func(node any, path string) {
			switch node := node.(type) {
			case map[string]any:
				node["surprise"] = "words"
				refuses("another key beside", path)
				delete(node, "surprise")
				for _, key := range slices.Sorted(maps.Keys(node)) {
					at := strings.TrimPrefix(path+"."+key, ".")
					kept := node[key]
					if known[at].required {
						delete(node, key)
						refuses("lacking", at)
					}
					if !within(path) {
						node[key] = otherType(kept)
						refuses("the type of", at)
						node[key] = kept
					}
					change(kept, at)
				}
			case []any:
				for i, element := range node {
					if strings.Contains(path, "coordinates") {
						continue // one type at all depths but the last
					}
					if !within(path) {
						node[i] = otherType(element)
						refuses("the type of an element of", path)
						node[i] = element
					}
					change(element, fmt.Sprint(path, "[]"))
				}
			}
		}
		change(value, "")
		if err := schema.Validate(value); err != nil {
			t.Fatalf("%s: the record was not put back: %v", name, err)
		}
		t.Logf("%s: %d changed records refused", name, tried)
	}
}

// otherType is a value of a type that never stands in the place of v.
func otherType(v any) any {
	switch v.(type) {
	case map[string]any, []any:
		return "words"
	}
	return []any{true}
}
