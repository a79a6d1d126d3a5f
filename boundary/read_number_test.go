package boundary

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"testing"
)

// strconv reads each number to the nearest float64; so must the short way.
func checkDecimal(t *testing.T, text string) {
	t.Helper()
	got, ok := decimal([]byte(text))
	want, err := strconv.ParseFloat(text, 64)
	if plain := decimalText.MatchString(text); ok != (plain && err == nil) {
		t.Fatalf("%q: taken %v, strconv says %v", text, ok, err)
	}
	if ok && math.Float64bits(got) != math.Float64bits(want) {
		t.Fatalf("%q: %v, want %v", text, got, want)
	}
}

var decimalText = regexp.MustCompile(`^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$`)

func TestDecimal(t *testing.T) {
	for _, text := range []string{
		"", "-", "+", ".", "-.", "0", "-0", "+0", "1.", ".5", "-.5", "00012.50", "1e3", "1E-3", "1e+03", "1e", "1e+", "e5", "1.5.2", "1-2",
		"9007199254740991", "9007199254740992", "9007199254740993", "18446744073709551615", "18446744073709551616",
		"0.1234567890123456789", "0.12345678901234567890", "123456789012345678901234567890", "1e308", "1e309", "-1e309", "1e-400",
		"0.0000000000000000000001", "0.00000000000000000000012345", "179.99999999999997", "5e-324", "2.2250738585072011e-308",
		"nan", "inf", "0x1p-2", "1_000", "1 ", " 1", "１",
	} {
		checkDecimal(t, text)
	}
	random := rand.New(rand.NewPCG(1, 2))
	for range 20_000 {
		checkDecimal(t, fmt.Sprintf("%.*f", random.IntN(20), (random.Float64()-0.5)*360))
		checkDecimal(t, strconv.FormatFloat(math.Float64frombits(random.Uint64()), 'g', random.IntN(25)-1, 64))
	}
}

func FuzzDecimal(f *testing.F) {
	f.Add("-12.345e-6")
	f.Add("9007199254740993")
	f.Fuzz(func(t *testing.T, text string) { checkDecimal(t, text) })
}
