package report

import (
	"encoding/json"
	"io"
	"strings"
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
	Before    rounded   `json:"before"`
	After     rounded   `json:"after"`
	Change    rounded   `json:"change"`
	Percent   rounded   `json:"change_percent"`
	Judgement Judgement `json:"judgement"`
}

type siteChangeJSON struct {
	Same    bool    `json:"same"`
	Added   rounded `json:"added_m2"`
	Removed rounded `json:"removed_m2"`
	Shared  rounded `json:"shared_m2"`
}

// groundsJSON has the ground that both site areas share.
type groundsJSON struct {
	NoView *groundJSON `json:"no_view"` // null where the class is not the same in both
	Under2 *groundJSON `json:"fewer_than_2_views"`
	TooFew *groundJSON `json:"fewer_than_wanted"`
}

type groundJSON struct {
	Better rounded `json:"better_m2"`
	Worse  rounded `json:"worse_m2"`
}

type zoneChangeJSON struct {
	Change     Change  `json:"change"`
	Kind       string  `json:"kind"`
	Before     []int   `json:"before"` // numbers, from 1
	After      []int   `json:"after"`
	BeforeArea rounded `json:"before_m2"`
	AfterArea  rounded `json:"after_m2"`
	Shared     rounded `json:"shared_m2"`
	Other      *string `json:"elsewise"` // of a zone that is new or gone: what most of its ground is in the other audit
	Lon        rounded `json:"lon"`
	Lat        rounded `json:"lat"`
}

type inputChangeJSON struct {
	Role   string   `json:"role"`
	Same   bool     `json:"same"`
	Before []string `json:"before"`
	After  []string `json:"after"`
}

// WriteJSON writes the comparison as one JSON object. Units are in the names of
// the keys; what is not known or does not compare is null.
func (c *Comparison) WriteJSON(w io.Writer) error {
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
		out.Figures[f.Key] = figureJSON{rounded{f.Before, decimals}, rounded{f.After, decimals}, rounded{change, decimals}, rounded{100 * part, 2}, f.Judgement}
		if f.worse() {
			out.Worse = append(out.Worse, f.Key)
		}
	}
	for _, i := range c.Inputs {
		out.Inputs = append(out.Inputs, inputChangeJSON{i.Role, i.Same, append([]string{}, i.Before...), append([]string{}, i.After...)})
	}
	if p := c.onGround; p != nil {
		out.Site = &siteChangeJSON{p.Site.Same, squareMetres(p.Site.Added), squareMetres(p.Site.Removed), squareMetres(p.Site.Shared)}
		var ground [3]*groundJSON
		for k, g := range p.Below {
			if p.Alike[k] {
				ground[k] = &groundJSON{squareMetres(g.Better), squareMetres(g.Worse)}
			}
		}
		out.Ground = &groundsJSON{ground[0], ground[1], ground[2]}
		for _, z := range p.Zones {
			one := zoneChangeJSON{z.Change, z.Kind, append([]int{}, z.Before...), append([]int{}, z.After...),
				squareMetres(z.BeforeArea), squareMetres(z.AfterArea), squareMetres(z.Shared), nil, longitude(z.At), latitude(z.At)}
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
