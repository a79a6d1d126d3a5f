package boundary

import (
	"math"
	"strconv"
)

// tens are the powers of ten that a float64 holds exactly.
var tens = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// decimal reads a finite decimal number. The words and notations that
// strconv takes besides ("inf", "0x1p-2", "1_000") are no coordinates.
func decimal(text []byte) (float64, bool) {
	x, end := scanDecimal(text, 0)
	return x, end > 0 && end == len(text) && !math.IsInf(x, 0)
}

// scanDecimal reads the decimal number that begins at an offset of text, such
// as "-12.5", "+.5" or "1e3", and returns the offset of its end. That is the
// same offset when no number is there. A number too large is infinite.
func scanDecimal(text []byte, from int) (x float64, end int) {
	at := from
	negative := false
	if at < len(text) && (text[at] == '-' || text[at] == '+') {
		negative = text[at] == '-'
		at++
	}
	// The first 19 digits fit into mantissa; a number with more goes the long way.
	var mantissa uint64
	first := at
	for at < len(text) && text[at]-'0' <= 9 {
		mantissa = mantissa*10 + uint64(text[at]-'0')
		at++
	}
	digits, scale := at-first, 0
	if at < len(text) && text[at] == '.' {
		at++
		point := at
		for at < len(text) && text[at]-'0' <= 9 {
			mantissa = mantissa*10 + uint64(text[at]-'0')
			at++
		}
		scale = at - point
		digits += scale
	}
	if digits == 0 {
		return 0, from
	}
	plain := true
	if at < len(text) && text[at]|0x20 == 'e' {
		exponent := at + 1
		if exponent < len(text) && (text[exponent] == '-' || text[exponent] == '+') {
			exponent++
		}
		if exponent == len(text) || text[exponent]-'0' > 9 {
			return 0, from
		}
		for at = exponent; at < len(text) && text[at]-'0' <= 9; {
			at++
		}
		plain = false
	}
	if plain && digits <= 19 && mantissa < 1<<53 && scale < len(tens) {
		// Both are exact, so that one division rounds once (Clinger, How to
		// read floating point numbers accurately, 1990).
		x = float64(mantissa) / tens[scale]
		if negative {
			x = -x
		}
		return x, at
	}
	x, _ = strconv.ParseFloat(string(text[from:at]), 64) // what is too large comes back infinite
	return x, at
}
