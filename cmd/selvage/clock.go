package main

import (
	"fmt"
	"os"
	"strconv"
	"time"
)

// now is the time that outputs bear: that of SOURCE_DATE_EPOCH, in seconds
// from 1970 (reproducible-builds.org/specs/source-date-epoch), so that the same
// job gives the same bytes; without it, the clock's.
func now() (time.Time, error) {
	const variable, lastOfYear9999 = "SOURCE_DATE_EPOCH", 253_402_300_799
	text, given := os.LookupEnv(variable)
	if !given || text == "" {
		return time.Now(), nil
	}
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil || seconds < 0 || seconds > lastOfYear9999 || strconv.FormatInt(seconds, 10) != text {
		return time.Time{}, fmt.Errorf("%s is %q: it must be a number of whole seconds from 1970 on", variable, text)
	}
	return time.Unix(seconds, 0).UTC(), nil
}
