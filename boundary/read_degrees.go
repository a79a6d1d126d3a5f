package boundary

import (
	"fmt"
	"regexp"
	"strings"
)

// angle splits degrees, minutes and seconds, of which the last may have
// decimals. Signs, colons or spaces stand between them.
var angle = regexp.MustCompile(`^(\d+\.?\d*)(?:\s*[°º˚dD]?$|\s*[°º˚dD:\s]\s*(\d+\.?\d*)(?:\s*['′’‘´]?$|\s*['′’‘´:\s]\s*(\d+\.?\d*)\s*["″”“]?$))`)

// twoMinutes are ways to write the sign for seconds as two of that for minutes.
var twoMinutes = strings.NewReplacer("''", `"`, "′′", `"`, "’’", `"`, "´´", `"`)

// sexagesimal reads an angle such as 40°26'46"N, 40 26 46 N, N40:26.77 or
// -40d26'46". Axis 0 is longitude, 1 latitude. fault says why text is no such
// angle; it is "" for none.
func sexagesimal(text string, axis int) (degrees float64, fault string) {
	rest, direction := cutDirection(strings.TrimSpace(text))
	sign := ""
	if strings.HasPrefix(rest, "-") || strings.HasPrefix(rest, "+") {
		sign, rest = rest[:1], strings.TrimSpace(rest[1:])
	}
	parts := angle.FindStringSubmatch(twoMinutes.Replace(rest))
	if parts == nil {
		return 0, `one is written as 10.5, 10°30'00"` + [...]string{"E", "N"}[axis]
	}
	if len(direction) > 1 {
		return 0, "it names two directions"
	}
	if direction != "" && strings.Contains("EW", direction) != (axis == 0) {
		return 0, "the letter " + direction + " is for " + [...]string{"latitudes", "longitudes"}[axis]
	}
	if sign != "" && direction != "" {
		return 0, "it has both a sign and a direction"
	}
	var numbers []float64
	for i, part := range parts[1:] {
		if part == "" {
			break
		}
		if i > 0 && strings.Contains(parts[i], ".") {
			return 0, "only the last of its numbers may have decimals"
		}
		n, _ := decimal([]byte(part)) // too many digits make it infinite
		if i > 0 && n >= 60 {
			return 0, printable(part, 40) + " is not less than 60"
		}
		numbers = append(numbers, n)
	}
	seconds := 0.0
	for i, n := range numbers {
		seconds += n * [...]float64{3600, 60, 1}[i]
	}
	degrees = seconds / 3600
	if len(numbers) == 1 {
		degrees = numbers[0]
	}
	if most := [...]float64{360, 90}[axis]; degrees > most {
		return 0, fmt.Sprintf("it is more than %g degrees", most)
	}
	if sign == "-" || direction == "S" || direction == "W" {
		degrees = -degrees
	}
	return degrees, ""
}

// cutDirection takes the letters N, S, E and W from both ends of text.
func cutDirection(text string) (rest, direction string) {
	isDirection := func(i int) bool { return i >= 0 && i < len(text) && strings.IndexByte("NSEWnsew", text[i]) >= 0 }
	if isDirection(0) {
		direction, text = text[:1], text[1:]
	}
	if isDirection(len(text) - 1) {
		direction, text = direction+text[len(text)-1:], text[:len(text)-1]
	}
	return strings.TrimSpace(text), strings.ToUpper(direction)
}
