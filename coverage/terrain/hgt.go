package terrain

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"path"
	"regexp"
	"strconv"
	"strings"

	"selvage/boundary/crs"
)

var hgtName = regexp.MustCompile(`(?i)^([NS])(\d{2})([EW])(\d{3})[._]`)

// openHGT reads SRTM tiles: a degree square of big-endian 16-bit numbers, rows
// from north to south, the outermost of which are repeated in the neighbours
// (SRTM User Guide, LP DAAC, from memory).
func openHGT(name string, r io.ReaderAt, size int64, o Options) (*File, error) {
	m := hgtName.FindStringSubmatch(path.Base(strings.ReplaceAll(name, `\`, "/")))
	if m == nil {
		return nil, errors.New("is not named after its south-west corner, as SRTM files are: N37W122.hgt, for example")
	}
	lat, _ := strconv.Atoi(m[2])
	lon, _ := strconv.Atoi(m[4])
	if strings.EqualFold(m[1], "S") {
		lat = -lat
	}
	if strings.EqualFold(m[3], "W") {
		lon = -lon
	}
	if lat < -90 || lat > 89 || lon < -180 || lon > 179 {
		return nil, fmt.Errorf("is named after latitude %d, longitude %d, where no degree square is", lat, lon)
	}
	if o.System != "" {
		system, err := crs.Parse(o.System)
		if err != nil {
			return nil, err
		}
		if !system.Geographic() {
			return nil, fmt.Errorf("is an SRTM file, which is in longitude and latitude and not in %s", system.Name())
		}
	}
	n := 0
	switch size {
	case 2 * 1201 * 1201:
		n = 1201
	case 2 * 3601 * 3601:
		n = 3601
	default:
		return nil, fmt.Errorf("has %d bytes; an SRTM file has 2884802 (1201 × 1201 heights) or 25934402 (3601 × 3601)", size)
	}
	wgs84, err := crs.Parse("EPSG:4326")
	if err != nil {
		return nil, err
	}
	step := 1 / float64(n-1)
	l := lattice{wgs84, affine{float64(lon), step, 0, float64(lat + 1), 0, -step}, n, n}
	return &File{
		Source:  Source{Format: "SRTM", Datum: "EGM96", Unit: Metre, Points: true},
		lattice: l,
		read: func(w window) ([]float32, error) {
			out := make([]float32, 0, w.columns*w.rows)
			row := make([]byte, 2*w.columns)
			for j := range w.rows {
				if err := readAt(r, row, 2*(int64(w.row+j)*int64(n)+int64(w.column))); err != nil {
					return nil, err
				}
				for k := 0; k < len(row); k += 2 {
					h := float32(int16(binary.BigEndian.Uint16(row[k:])))
					if usualVoid(float64(h)) {
						h = void
					}
					out = append(out, h)
				}
			}
			return out, nil
		},
	}, nil
}

// readAt fills p from offset on.
func readAt(r io.ReaderAt, p []byte, offset int64) error {
	n, err := r.ReadAt(p, offset)
	if n == len(p) {
		return nil
	}
	if err == nil || errors.Is(err, io.EOF) {
		return errors.New("ends too early; the file may be cut off")
	}
	return fmt.Errorf("could not be read: %w", err)
}
