package coverage

import (
	"fmt"
	"math"
	"strings"
)

func counted(n int, singular, plural string) string {
	return fmt.Sprintf("%d %s", n, choose(n, singular, plural))
}

func choose(n int, singular, plural string) string { return chooseIf(n == 1, singular, plural) }

func chooseIf(condition bool, yes, no string) string {
	if condition {
		return yes
	}
	return no
}

func one(b bool) int {
	if b {
		return 1
	}
	return 0
}

func sentence(s string) string {
	return strings.ToUpper(s[:1]) + s[1:]
}

func metres(v float64) string { return fmt.Sprintf("%.0f m", v) }

// metresFine keeps a decimal or two where they matter.
func metresFine(v float64) string {
	switch {
	case v >= 1000:
		return metres(v)
	case v >= 1:
		return fmt.Sprintf("%.1f m", v)
	}
	return fmt.Sprintf("%.2f m", v)
}

func centimetres(v float64) string { return fmt.Sprintf("%.2f cm", v*100) }

func squareMetres(v float64) string {
	switch {
	case v >= 100_000:
		return fmt.Sprintf("%.1f ha", v/10_000)
	case v >= 10_000:
		return fmt.Sprintf("%.2f ha", v/10_000)
	case v >= 10:
		return fmt.Sprintf("%.0f m²", v)
	case v >= 0.1:
		return fmt.Sprintf("%.1f m²", v)
	}
	return "less than 0.1 m²"
}

// percent never rounds something to nothing or a part to the whole.
func percent(share float64) string {
	switch {
	case share == 0:
		return "0 %"
	case share < 0.0005:
		return "less than 0.1 %"
	case share < 0.0995:
		return fmt.Sprintf("%.1f %%", share*100)
	case share < 0.995 || share == 1:
		return fmt.Sprintf("%.0f %%", share*100)
	case share < 0.9995:
		return fmt.Sprintf("%.1f %%", share*100)
	}
	return "more than 99.9 %"
}

// rounded drops digits that nobody measured.
func rounded(v float64) float64 { return math.Round(v*1000) / 1000 }
