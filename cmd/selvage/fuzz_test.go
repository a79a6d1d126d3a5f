package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/pflag"
)

// A value of a flag is refused in a sentence, or is a number where it should be one.
func FuzzFlags(f *testing.F) {
	f.Add("limit=size=200MB,vertices=3M")
	f.Add("limit=head=0.5MB,depth=1e9")
	f.Add("camera=13.2x8.8mm,8.8mm,5472x3648")
	f.Add("buffer=auto")
	f.Add("margin-along=C:\\road.kml:5m")
	f.Add("height=1" + zeros + "m")
	f.Add("exposure=1/1000s")
	f.Add("expect-area=5 acres")
	f.Add("near=-33.5, 151")
	f.Add("overlap=75%/70%")
	f.Add("xmp=yaw=a:Yaw")
	f.Add("fov=64x48deg")
	f.Add("footprint=109x73m")
	f.Add("attitude-error=0.5deg")
	f.Add("course=359.99°")
	f.Add("speed=1e400kn")
	f.Add("sensor=all")
	f.Add("units=imperial")
	f.Add("format=kml,geojson")
	f.Add("crs=EPSG:32632")
	f.Fuzz(func(t *testing.T, given string) {
		name, value, _ := strings.Cut(given, "=")
		for _, c := range commands() {
			flags := pflag.NewFlagSet(c.name, pflag.ContinueOnError)
			c.define(flags)
			flag := flags.Lookup(name)
			if flag == nil {
				continue
			}
			if err := flag.Value.Set(value); err != nil {
				if err.Error() == "" {
					t.Errorf("%s %q is refused without a word", c.name, given)
				}
				continue
			}
			switch flag.Value.Type() {
			case "length", "length|auto", "area", "angle", "angles", "degrees", "speed", "time", "pixels", "size":
				if s := flag.Value.String(); strings.Contains(s, "Inf") || strings.Contains(s, "NaN") {
					t.Errorf("%s %q is taken as %s", c.name, given, s)
				}
			}
		}
	})
}

// A letterhead is refused with its place, or each word says what one line of it did.
func FuzzLetterhead(f *testing.F) {
	path := filepath.Join(f.TempDir(), "head.txt")
	f.Add([]byte("\xef\xbb\xbfOperator: Field: and Fell\r\n# none\r\nlogo: logo.png\n"))
	f.Add([]byte("client:\nclient: a"))
	f.Add([]byte("site"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := os.WriteFile(path, data, 0o666); err != nil {
			t.Fatal(err)
		}
		said, err := readLetterhead(path)
		if err != nil {
			if s := err.Error(); !strings.HasPrefix(s, path) || strings.Contains(s[len(path):], "\n") {
				t.Errorf("said %q", s)
			}
			return
		}
		for word, text := range said {
			if word == "logo" {
				text = filepath.Base(text)
			}
			if !utf8.ValidString(text) || strings.Contains(text, "\n") || word != "logo" && !strings.Contains(string(data), text) {
				t.Errorf("%s is %q", word, text)
			}
		}
	})
}
