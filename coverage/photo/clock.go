package photo

import "time"

// digits reads a number of exactly as many digits as text has bytes.
func digits(text []byte) (n int, ok bool) {
	for _, c := range text {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = 10*n + int(c-'0')
	}
	return n, len(text) > 0
}

// parseDay reads "2026:05:01" or "2026-05-01".
func parseDay(text []byte) (time.Time, bool) {
	if len(text) != 10 || text[4] != text[7] || text[4] != ':' && text[4] != '-' {
		return time.Time{}, false
	}
	year, okY := digits(text[:4])
	month, okM := digits(text[5:7])
	day, okD := digits(text[8:])
	if !okY || !okM || !okD || month < 1 || month > 12 {
		return time.Time{}, false
	}
	t := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	return t, t.Day() == day
}

// parseClock reads "2026:05:01 12:00:00" and the digits of a fraction, as UTC.
func parseClock(text, fraction []byte) (time.Time, bool) {
	if len(text) != 19 || text[4] != ':' || text[10] != ' ' || text[13] != ':' || text[16] != ':' {
		return time.Time{}, false
	}
	t, ok := parseDay(text[:10])
	hour, okH := digits(text[11:13])
	minute, okM := digits(text[14:16])
	second, okS := digits(text[17:])
	if !ok || !okH || !okM || !okS || hour > 23 || minute > 59 || second > 59 {
		return time.Time{}, false
	}
	t = t.Add(time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute + time.Duration(second)*time.Second)
	const nano = 9
	fraction = fraction[:min(len(fraction), nano)]
	if n, ok := digits(fraction); ok {
		for range nano - len(fraction) {
			n *= 10
		}
		t = t.Add(time.Duration(n))
	}
	return t, true
}

// zones remembers the last zone, so that the photos of a flight share it.
type zones struct {
	seconds int
	last    *time.Location
}

// place puts a clock that was read as UTC into its zone, "+02:00" or "Z".
func (z *zones) place(clock time.Time, text []byte) (time.Time, bool) {
	if string(text) == "Z" {
		return clock, true
	}
	if len(text) != 6 || text[0] != '+' && text[0] != '-' || text[3] != ':' {
		return clock, false
	}
	hours, okH := digits(text[1:3])
	minutes, okM := digits(text[4:])
	if !okH || !okM || hours > 23 || minutes > 59 {
		return clock, false
	}
	seconds := hours*3600 + minutes*60
	if text[0] == '-' {
		seconds = -seconds
	}
	if z.last == nil || z.seconds != seconds {
		z.seconds, z.last = seconds, time.FixedZone("", seconds)
	}
	return clock.Add(-time.Duration(seconds) * time.Second).In(z.last), true
}
