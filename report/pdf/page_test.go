package pdf

import (
	"fmt"
	"strings"
	"testing"
)

// column of strips, each a letter and its height; "!" keeps a strip on the page
// of the next, "~" does so if it can.
func strips(text string) []*strip {
	var out []*strip
	for _, word := range strings.Fields(text) {
		s := &strip{outline: word[:1], before: 1}
		fmt.Sscan(strings.Trim(word[1:], "!~"), &s.height)
		if strings.HasSuffix(word, "!") {
			s.keep = needed
		} else if strings.HasSuffix(word, "~") {
			s.keep = wished
		}
		out = append(out, s)
	}
	return out
}

func names(pages [][]*strip) string {
	var out []string
	for _, page := range pages {
		line := ""
		for _, s := range page {
			line += s.outline
		}
		out = append(out, line)
	}
	return strings.Join(out, " ")
}

func TestPaginate(t *testing.T) {
	for _, test := range []struct{ name, strips, want string }{
		{"nothing", "", ""},
		{"one page", "a10 b10 c10", "abc"},
		{"room above the first does not count", "a50 b49", "ab"},
		{"over the end", "a50 b48 c10", "ab c"},
		{"a heading is not left behind", "a80 h10! b20", "a hb"},
		{"nor are two", "a70 h10! i10! b20", "a hib"},
		{"a block is kept whole", "a60 b20~ c20~ d20", "a bcd"},
		{"unless it is higher than a page", "a60 b30~ c30~ d60", "ab cd"},
		{"a heading stays even so", "a60 h20! b60~ c60", "a hb c"},
		{"what is too high alone is not lost", "a10 b200 c10", "a b c"},
	} {
		pages := paginate(strips(test.strips), 100)
		if got := names(pages); got != test.want {
			t.Errorf("%s: pages %q, want %q", test.name, got, test.want)
		}
	}
}

func TestHeadIsRepeated(t *testing.T) {
	all := strips("h10! a40 b40 c40 d40")
	for _, s := range all[1:] {
		s.head = all[0]
	}
	if got := names(paginate(all, 100)); got != "hab hcd" {
		t.Errorf("pages %q", got)
	}
}

// A row that is higher than a page is parted line by line, in all its columns.
func TestHighRowIsParted(t *testing.T) {
	row := &strip{columns: []column{{strips: strips("a30 b30 c30 d30 e30")}, {strips: strips("x30")}}}
	var lines int
	for i, page := range paginate([]*strip{strips("t50")[0], row.settled()}, 100) {
		for _, s := range page {
			if s.height > 100 {
				t.Errorf("page %d: a row of %.0f", i+1, s.height)
			}
			for _, c := range s.columns {
				lines += len(c.strips)
			}
		}
	}
	if lines != 6 {
		t.Errorf("%d lines are left of 6", lines)
	}
}

func TestPictureShrinksOrTurns(t *testing.T) {
	small := func(least float64) []*strip {
		all := strips("a40 h10! m60")
		all[2].shrink = func(most float64) *strip {
			if most < least {
				return nil
			}
			return &strip{outline: "s", height: most, again: strips("M60")}
		}
		return all
	}
	if got := names(paginate(small(40), 100)); got != "ahs M" {
		t.Errorf("pages %q", got)
	}
	if got := names(paginate(small(55), 100)); got != "a hm" {
		t.Errorf("pages %q", got)
	}
}
