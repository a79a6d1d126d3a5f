package compare

import (
	"encoding/json"
	"io"
	"math"
	"strings"

	"selvage/boundary/finding"
)

type comparisonJSON struct {
	Kind        string                `json:"kind"` // audits, or plan-and-flight
	Verdict     string                `json:"verdict"`
	Comparable  bool                  `json:"comparable"`
	Before      comparedJSON          `json:"before"`
	After       comparedJSON          `json:"after"`
	Differences []differenceJSON      `json:"differences"`
	Figures     map[string]figureJSON `json:"figures"`
	Worse       []string              `json:"worse"`  // keys of figures
	Site        *siteChangeJSON       `json:"site"`   // null without shapes, as the following
	Ground      *groundsJSON          `json:"ground"` // null also for another site
	Zones       []zoneChangeJSON      `json:"zones"`
	Inputs      []inputChangeJSON     `json:"inputs"`
	Notes       []string              `json:"notes"`
}

type comparedJSON struct {
	File    string   `json:"file"`
	SHA256  string   `json:"sha256"`
	Lacking []string `json:"lacking"`
}

type differenceJSON struct {
	Code    string   `json:"code"`
	Text    string   `json:"text"`
	Figures []string `json:"figures"`
}

// figureJSON is in the unit of its key, but for the percentage of what was before.
type figureJSON struct {
	Before    *json.Number `json:"before"`
	After     *json.Number `json:"after"`
	Change    *json.Number `json:"change"`
	Percent   *json.Number `json:"change_percent"`
	Judgement Judgement    `json:"judgement"`
}

type siteChangeJSON struct {
	Same    bool         `json:"same"`
	Added   *json.Number `json:"added_m2"`
	Removed *json.Number `json:"removed_m2"`
	Shared  *json.Number `json:"shared_m2"`
}

// groundsJSON has the ground that both site areas share.
type groundsJSON struct {
	NoView *groundJSON `json:"no_view"` // null where the class is not the same in both
	Under2 *groundJSON `json:"fewer_than_2_views"`
	TooFew *groundJSON `json:"fewer_than_wanted"`
}

type groundJSON struct {
	Better *json.Number `json:"better_m2"`
	Worse  *json.Number `json:"worse_m2"`
}

type zoneChangeJSON struct {
	Change     Change       `json:"change"`
	Kind       string       `json:"kind"`
	Before     []int        `json:"before"` // numbers, from 1
	After      []int        `json:"after"`
	BeforeArea *json.Number `json:"before_m2"`
	AfterArea  *json.Number `json:"after_m2"`
	Shared     *json.Number `json:"shared_m2"`
	Other      *string      `json:"elsewise"` // of a zone that is new or gone: what most of its ground is in the other audit
	Lon        *json.Number `json:"lon"`
	Lat        *json.Number `json:"lat"`
}

type inputChangeJSON struct {
	Role   string   `json:"role"`
	Same   bool     `json:"same"`
	Before []string `json:"before"`
	After  []string `json:"after"`
}

// WriteJSON writes the comparison as one JSON object. Units are in the names of
// the keys; what is not known or does not compare is null.
func (c *Result) WriteJSON(w io.Writer) error {
	out := comparisonJSON{
		Kind: "audits", Verdict: c.Verdict(), Comparable: len(c.Differences) == 0,
		Before:      comparedJSON{c.Before.Name, c.Before.SHA256, append([]string{}, c.Before.Lacking...)},
		After:       comparedJSON{c.After.Name, c.After.SHA256, append([]string{}, c.After.Lacking...)},
		Differences: []differenceJSON{}, Figures: map[string]figureJSON{}, Worse: []string{}, Zones: []zoneChangeJSON{},
		Inputs: []inputChangeJSON{}, Notes: append([]string{}, c.Notes...),
	}
	if c.Planned {
		out.Kind = "plan-and-flight"
	}
	for _, d := range c.Differences {
		out.Differences = append(out.Differences, differenceJSON{d.Code, d.Text, append([]string{}, d.Figures...)})
	}
	for _, f := range c.Figures {
		change, part := f.Change()
		decimals := 3
		if strings.HasSuffix(f.Key, "share") || strings.Contains(f.Key, "overlap") {
			decimals = 6
		}
		out.Figures[f.Key] = figureJSON{number(f.Before, decimals), number(f.After, decimals), number(change, decimals), number(100*part, 2), f.Judgement}
		if f.worse() {
			out.Worse = append(out.Worse, f.Key)
		}
	}
	for _, i := range c.Inputs {
		out.Inputs = append(out.Inputs, inputChangeJSON{i.Role, i.Same, append([]string{}, i.Before...), append([]string{}, i.After...)})
	}
	if p := c.onGround; p != nil {
		out.Site = &siteChangeJSON{p.Site.Same, area(p.Site.Added), area(p.Site.Removed), area(p.Site.Shared)}
		var ground [3]*groundJSON
		for k, g := range p.Below {
			if p.Alike[k] {
				ground[k] = &groundJSON{area(g.Better), area(g.Worse)}
			}
		}
		out.Ground = &groundsJSON{ground[0], ground[1], ground[2]}
		for _, z := range p.Zones {
			one := zoneChangeJSON{z.Change, z.Kind, append([]int{}, z.Before...), append([]int{}, z.After...),
				area(z.BeforeArea), area(z.AfterArea), area(z.Shared), nil, number(z.At.Lon(), 8), number(z.At.Lat(), 8)}
			if z.Other != "" {
				one.Other = &z.Other
			}
			out.Zones = append(out.Zones, one)
		}
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(out)
}

// number is null for what is not known.
func number(x float64, decimals int) *json.Number {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	n := finding.Rounded(x, decimals)
	return &n
}

func area(m2 float64) *json.Number { return number(m2, 2) }
