package coverage

import (
	"math"
	"strings"

	"selvage/boundary/finding"
)

func photos(n int) finding.Count { return finding.Counted(n, "photo", "photos") }

func one(b bool) int {
	if b {
		return 1
	}
	return 0
}

// mostListed is how many of a list are named.
const mostListed = 5

// listed names the first few of a list.
func listed(files []string) finding.Text {
	if n := len(files); n > mostListed {
		return finding.Say("%s and %s more", strings.Join(files[:mostListed], ", "), finding.Whole(n-mostListed))
	}
	return finding.Say("%s", strings.Join(files, ", "))
}

func minutes(seconds float64) finding.Text {
	if seconds < 600 {
		return finding.Say("%s minutes", finding.Decimal("%.1f", seconds/60))
	}
	return finding.Say("%s minutes", finding.Decimal("%.0f", seconds/60))
}

func seconds(v float64) finding.Text {
	if v < 10 {
		return finding.Say("%s s", finding.Decimal("%.3g", v))
	}
	return finding.Say("%s s", finding.Decimal("%.0f", v))
}

// rounded drops digits that nobody measured.
func rounded(v float64) float64 { return math.Round(v*1000) / 1000 }

func thousandths(v float64) finding.Number { return finding.Decimal("%g", rounded(v)) }
