package photo

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"path"
	"strings"
	"sync"

	"github.com/paulmach/orb"
)

// FirstRead is how much of the start of a file Read asks for at once. For most
// JPEG images it is all that is read.
const FirstRead = 64 << 10

// ErrUnlocated is found by errors.Is in the error of a photo that lacks nothing
// but a usable position. Such a photo comes back with the error, its Position
// NaN, and Override can locate it from a table.
var ErrUnlocated = errors.New("no position in its metadata")

// unlocated is any other reason why a photo has no usable position.
type unlocated string

func (u unlocated) Error() string        { return string(u) }
func (u unlocated) Is(target error) bool { return target == ErrUnlocated }

// Located reports whether the photo has a position.
func (p Photo) Located() bool { return !math.IsNaN(p.Position[0]) && !math.IsNaN(p.Position[1]) }

var nowhere = orb.Point{math.NaN(), math.NaN()}

// Read reads the metadata of one image of size bytes: JPEG, TIFF, DNG, HEIF or
// PNG, whatever its name's extension says. names are the XMP properties that
// the user named, nil for none; one that the image lacks, or has twice with
// different values, or with no number in its range, is passed over. Where the
// Exif metadata has no position, the XMP properties of the Exif standard fill
// in what it lacks.
//
// Read first asks for FirstRead bytes and then, where the metadata lies further
// on, for at most UsualHead bytes in 64 places. A reader that has the start alone serves
// for most images. Read may be called from several goroutines.
//
// The error's text is a clause that fits LeftOut.Reason. With any error but
// one that is ErrUnlocated the photo is empty.
func Read(name string, r io.ReaderAt, size int64, names Names) (Photo, error) {
	return ReadAtMost(name, r, size, names, UsualHead)
}

// ReadAtMost is Read with another bound than UsualHead, in bytes.
func ReadAtMost(name string, r io.ReaderAt, size int64, names Names, most int) (Photo, error) {
	reader := readers.Get().(*reader)
	defer readers.Put(reader)
	return reader.read(name, r, size, names, most)
}

// Properties returns the properties of an image's XMP packet that hold numbers,
// so that those which the user might mean can be shown. An image without a
// packet has none; an error is one of Read's.
func Properties(r io.ReaderAt, size int64) ([]Property, error) {
	reader := readers.Get().(*reader)
	defer readers.Put(reader)
	defer reader.window.close()
	if err := reader.window.open(r, size, UsualHead); err != nil {
		return nil, err
	}
	f, err := reader.find(true)
	if err != nil {
		return nil, err
	}
	return reader.packet.numeric(reader.xmp(f)), nil
}

// Suggest returns, for each quantity, the properties whose local name holds the
// generic words for it: yaw, pitch, roll; for Height relative, above or ground
// together with altitude or height.
func Suggest(properties []Property) map[Quantity][]Property {
	suggestions := map[Quantity][]Property{}
	for _, p := range properties {
		if q, ok := suggest(p); ok {
			suggestions[q] = append(suggestions[q], p)
		}
	}
	return suggestions
}

var readers = sync.Pool{New: func() any { return &reader{view: optics{}.view()} }}

// reader holds what one photo after another can use again.
type reader struct {
	window   window
	metadata metadata
	packet   packet
	texts    texts
	zones    zones
	optics   optics // of the photo before
	view     view
}

// texts holds the last of the words that photos of one camera repeat, so that
// they share one copy.
type texts struct{ model, lens, datum word }

type word struct {
	raw   []byte
	clean string
}

// of returns a text without anything unprintable.
func (w *word) of(raw []byte) string {
	if len(raw) == 0 {
		return ""
	}
	if !bytes.Equal(raw, w.raw) {
		w.raw = append(w.raw[:0], raw[:min(len(raw), longestText)]...)
		w.clean = printable(string(w.raw))
	}
	return w.clean
}

func (r *reader) read(name string, source io.ReaderAt, size int64, names Names, most int) (Photo, error) {
	w := &r.window
	defer w.close()
	if err := w.open(source, size, most); err != nil {
		return Photo{}, err
	}
	wanted, wantXMP := ask(names)
	f, err := r.find(wantXMP)
	if err == errNoImage {
		err = notAnImage(name)
	}
	if err != nil {
		return Photo{}, err
	}
	p := New(name, nowhere)
	var o optics
	positionErr := r.exif(&p, &f, &o)
	if positionErr == nil {
		p.Sources.Position = Exif
	}
	if absent := errors.Is(positionErr, ErrUnlocated); absent && !f.xmp.known() && !wantXMP {
		if more, err := r.find(true); err == nil {
			f.xmp, f.deflated = more.xmp, more.deflated
		}
	}
	if f.xmp.known() && (wantXMP || errors.Is(positionErr, ErrUnlocated)) {
		positionErr = r.properties(&p, f, &o, &wanted, positionErr)
	}
	if o != r.optics {
		r.optics, r.view = o, o.view()
	}
	p.Format, p.Camera, p.CameraSource, p.CameraDoubt = f.format, r.view.camera, r.view.source, r.view.doubt
	switch {
	case positionErr == nil:
		return p, nil
	case w.fault != nil:
		return Photo{}, w.fault
	case errors.Is(positionErr, ErrUnlocated):
		return p, positionErr
	}
	return p, unlocated(positionErr.Error())
}

var errNoImage = errors.New("not a JPEG, TIFF, DNG, HEIF or PNG image")

// notAnImage says what the file should have been by its name.
func notAnImage(name string) error {
	switch strings.ToLower(path.Ext(name)) {
	case ".jpg", ".jpeg":
		return errors.New("not a JPEG image")
	case ".tif", ".tiff":
		return errors.New("not a TIFF image")
	case ".dng":
		return errors.New("not a DNG image")
	case ".heic", ".heif":
		return errors.New("not a HEIF image")
	case ".png":
		return errors.New("not a PNG image")
	}
	return errNoImage
}

// find looks for the parts of an image of any kind.
func (r *reader) find(wantXMP bool) (found, error) {
	w := &r.window
	head := string(w.head[:min(len(w.head), 8)])
	switch {
	case strings.HasPrefix(head, "\xFF\xD8\xFF"):
		return w.jpeg(wantXMP)
	case head == pngSignature:
		return w.png(wantXMP)
	case strings.HasPrefix(head, "II*\x00"), strings.HasPrefix(head, "MM\x00*"),
		strings.HasPrefix(head, "II+\x00"), strings.HasPrefix(head, "MM\x00+"):
		return r.tiff()
	case w.isHEIF():
		return w.heif()
	}
	return found{}, errNoImage
}

// tiff finds the parts of a TIFF image, which is all metadata.
func (r *reader) tiff() (found, error) {
	f := found{format: TIFF}
	m := &r.metadata
	if err := m.read(&r.window, 0, r.window.size); err != nil {
		return f, r.window.or("damaged or cut short: " + err.Error())
	}
	if m.main.has(tagDNGVersion) {
		f.format = DNG
	}
	f.columns, f.rows = m.size()
	if x, _ := m.main.field(tagXMP); x.length > 4 && (x.kind == typeByte || x.kind == typeUndefined) {
		f.xmp = span{int64(m.tiff.uint32(x.value)), int64(x.length)}
	}
	return f, nil
}

// exif sets what the Exif metadata tells. The error is about the position.
func (r *reader) exif(p *Photo, f *found, o *optics) error {
	*o = optics{columns: f.columns, rows: f.rows}
	m := &r.metadata
	if f.format != TIFF && f.format != DNG {
		if !f.exif.known() {
			return unlocated("no Exif metadata")
		}
		if err := m.read(&r.window, f.exif.start, f.exif.length); err != nil {
			return fmt.Errorf("damaged metadata: %w", err)
		}
	}
	var err error
	p.Position, err = m.position()
	p.Altitude, p.AltitudeDatum = m.altitude()
	p.Sources.Altitude = ifKnown(p.Altitude, Exif)
	p.Yaw = m.yaw()
	p.Sources.Yaw = ifKnown(p.Yaw, Exif)
	p.Pitch = within(m.exif.rational(tagElevationAngle), -180, 180)
	p.Sources.Pitch = ifKnown(p.Pitch, Exif)
	if p.Time, p.TimeSource = m.time(&r.zones); p.TimeSource != "" {
		p.Sources.Time = Exif
	}
	p.ExposureTime = positive(m.exif.rational(tagExposureTime))
	p.FNumber = positive(m.exif.rational(tagFNumber))
	p.ISO = m.sensitivity()
	p.PositionError = positive(m.gps.rational(tagPositionError))
	p.Sources.PositionError = ifKnown(p.PositionError, Exif)
	p.DOP = positive(m.gps.rational(tagDOP))
	p.MapDatum = r.texts.datum.of(m.gps.text(tagMapDatum))
	p.CameraModel = r.texts.model.of(m.main.text(tagModel))
	p.Lens = r.texts.lens.of(m.exif.text(tagLensModel))
	if turn, ok := m.main.integer(tagOrientation); ok && turn >= 1 && turn <= 8 {
		p.Orientation = int(turn)
	}
	*o = m.optics(f.columns, f.rows)
	if o.zoom > 0 {
		p.DigitalZoom = o.zoom
	}
	return err
}

func ifKnown(x float64, s Source) Source {
	if math.IsNaN(x) {
		return Unsaid
	}
	return s
}

// xmp returns the packet's text, nil when it cannot be had.
func (r *reader) xmp(f found) []byte {
	if !f.xmp.known() || f.xmp.length > mostPacket {
		return nil
	}
	data := r.window.at(f.xmp.start, int(f.xmp.length))
	if f.deflated {
		return inflate(data)
	}
	return data
}

// properties sets what the XMP packet tells: the named properties, and the
// standard ones when the Exif metadata has no position. The error is about the
// position.
func (r *reader) properties(p *Photo, f found, o *optics, wanted *wanted, positionErr error) error {
	absent := errors.Is(positionErr, ErrUnlocated)
	var s standard
	sound := r.packet.walk(r.xmp(f), func(q property) {
		wanted.see(q)
		if absent {
			s.see(r.packet.space(q.prefix), q)
		}
	})
	if !sound {
		return positionErr
	}
	if absent {
		position, err := s.position()
		if err == nil {
			p.Position, p.Sources.Position = position, XMP
			s.fill(p, o, &r.texts)
			positionErr = nil
		} else if err != ErrUnlocated {
			positionErr = err
		}
	}
	wanted.fill(p)
	return positionErr
}
