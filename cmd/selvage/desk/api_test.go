package desk

import (
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The page of the API names every route and every flag that there is, and no
// other.
func TestAPIPage(t *testing.T) {
	text, err := os.ReadFile("API.md")
	if err != nil {
		t.Fatal(err)
	}
	page := strings.ReplaceAll(string(text), "\r\n", "\n")
	source, err := os.ReadFile("server.go")
	if err != nil {
		t.Fatal(err)
	}
	find := func(pattern, text string) []string {
		var all []string
		for _, m := range regexp.MustCompile(pattern).FindAllStringSubmatch(text, -1) {
			all = append(all, m[1])
		}
		slices.Sort(all)
		return all
	}
	routes := slices.DeleteFunc(find(`Handle(?:Func)?\("([^"]+)"`, string(source)), func(r string) bool { return r == "/{token}/" })
	if said := find("(?m)^### `([^`]+)`$", page); !slices.Equal(said, routes) || len(routes) < 10 {
		t.Errorf("the page says\n%q\nthe desk has\n%q", said, routes)
	}
	for _, command := range []string{"vet", "prepare", "plan", "photos", "audit"} {
		names := slices.Sorted(maps.Keys(accepted[command]))
		if row := fmt.Sprintf("| %s | `%s` |\n", command, strings.Join(names, "`, `")); !strings.Contains(page, row) {
			t.Errorf("the page lacks %s", row)
		}
	}
	if len(accepted) != 5 {
		t.Errorf("%d commands", len(accepted))
	}
}
