package report

import (
	"embed"
	"fmt"
	"strings"
)

// Schemas of the machine output (JSON Schema, draft 2020-12). They are strict:
// a key that they do not name is an error.
//
//go:embed schema/*.json
var schemas embed.FS

// SchemaNames lists the schemas by name.
func SchemaNames() []string {
	entries, _ := schemas.ReadDir("schema") // what is embedded can be read
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), ".json"))
	}
	return names
}

// Schema returns the schema of a name.
func Schema(name string) ([]byte, error) {
	text, err := schemas.ReadFile("schema/" + name + ".json")
	if err != nil {
		return nil, fmt.Errorf("there is no schema %s; there are %s", name, strings.Join(SchemaNames(), ", "))
	}
	return text, nil
}
