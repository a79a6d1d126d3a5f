package desk

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"slices"
	"sync"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
	"selvage/report"
)

const (
	mostHead   = 128 << 10 // bytes of a photo that the page sends
	mostBatch  = 64 << 20
	mostPhotos = 200_000
	mostName   = 4 << 10
)

// lists are the photos of each job whose heads are being sent.
type lists struct {
	sync.Mutex
	of map[string]*list
}

// list is photos in the order in which they came.
type list struct {
	reading   string // its name
	names     photo.Names
	photos    []photo.Photo
	leftOut   []photo.LeftOut
	suggested map[photo.Quantity]string
}

// tally is how far reading has come.
type tally struct {
	Reading   string                    `json:"reading"`
	Read      int                       `json:"read"`
	Located   int                       `json:"located"`
	LeftOut   []leftOut                 `json:"left_out"`
	Suggested map[photo.Quantity]string `json:"suggested"` // properties that may hold a value
}

type leftOut struct {
	File   string `json:"file"`
	Reason string `json:"reason"`
}

// photos takes in the heads of photos: begin, any number of heads, and end,
// which writes them down as a list. Until then the list before stays.
func (s *Server) photos(j job, w http.ResponseWriter, r *http.Request) (any, error) {
	l, reading := s.lists.get(j.name), r.URL.Query().Get("reading")
	switch r.PathValue("stage") {
	case "begin":
		names := photo.Names{}
		if err := decode(w, r, mostBody, &names); err != nil {
			return nil, err
		}
		l = &list{reading: rand.Text(), names: names, suggested: map[photo.Quantity]string{}}
		s.lists.set(j.name, l)
		return l.tally(), nil
	case "heads":
		if err := l.goesOn(reading); err != nil {
			return nil, err
		}
		if err := l.take(http.MaxBytesReader(w, r.Body, mostBatch)); err != nil {
			return nil, err
		}
		return l.tally(), nil
	case "end":
		if err := l.goesOn(reading); err != nil {
			return nil, err
		}
		slices.SortStableFunc(l.photos, func(a, b photo.Photo) int { return cmp.Compare(a.File, b.File) })
		if err := j.write(photosName, func(w io.Writer) error { return report.WritePhotosCSV(w, l.photos, l.leftOut) }); err != nil {
			return nil, err
		}
		s.lists.set(j.name, nil)
		return l.tally(), nil
	}
	return nil, refusal{http.StatusNotFound, "There is no such step."}
}

// goesOn reports whether it is this reading that the list is of.
func (l *list) goesOn(reading string) error {
	switch {
	case l == nil:
		return refuse("Reading was broken off, as by closing the desk. Choose the photos again.")
	case l.reading != reading:
		return refusal{http.StatusConflict, "Photos of this job are being read in another window now, so reading has stopped here."}
	}
	return nil
}

func (l *lists) get(job string) *list {
	l.Lock()
	defer l.Unlock()
	return l.of[job]
}

func (l *lists) set(job string, value *list) {
	l.Lock()
	defer l.Unlock()
	if l.of == nil {
		l.of = map[string]*list{}
	}
	l.of[job] = value
}

func (l *list) tally() tally {
	t := tally{Reading: l.reading, Read: len(l.photos) + len(l.leftOut), Located: len(l.photos), LeftOut: []leftOut{}, Suggested: l.suggested}
	for _, out := range l.leftOut {
		t.LeftOut = append(t.LeftOut, leftOut{out.File, out.Reason.String()})
	}
	return t
}

// take reads frames one after the other: the length of a description in four
// bytes, most significant first, the description, {"name": …, "size": …}, and
// then the length of the head and the head.
func (l *list) take(body io.Reader) error {
	for {
		text, err := frame(body, mostName)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return tooSoon(err)
		}
		var about struct {
			Name string `json:"name"`
			Size int64  `json:"size"`
		}
		if err := json.Unmarshal(text, &about); err != nil {
			return refuse("The page sent a photo without a name.")
		}
		head, err := frame(body, mostHead)
		if err != nil {
			return tooSoon(err)
		}
		if len(l.photos)+len(l.leftOut) >= mostPhotos {
			return refuse(fmt.Sprintf("These are more than %d photos, which is the limit.", mostPhotos))
		}
		l.add(about.Name, head, about.Size)
	}
}

func tooSoon(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return refuse("The page sent a photo that ends too soon.")
	}
	return err
}

// frame reads a length and as many bytes. It is io.EOF where nothing follows.
func frame(r io.Reader, most uint32) ([]byte, error) {
	var length [4]byte
	if _, err := io.ReadFull(r, length[:]); err != nil {
		return nil, err
	}
	n := binary.BigEndian.Uint32(length[:])
	if n > most {
		return nil, refuse("The page sent more of a photo than the desk takes.")
	}
	data := make([]byte, n)
	_, err := io.ReadFull(r, data)
	if errors.Is(err, io.EOF) {
		err = io.ErrUnexpectedEOF
	}
	return data, err
}

func (l *list) add(name string, data []byte, size int64) {
	h := head{bytes.NewReader(data), size}
	p, err := photo.Read(name, h, max(size, int64(len(data))), l.names)
	if err != nil {
		l.leftOut = append(l.leftOut, photo.LeftOut{File: name, Reason: finding.Plain(err.Error())})
		return
	}
	if len(l.photos) == 0 {
		l.suggest(h, size)
	}
	l.photos = append(l.photos, p)
}

// suggest names the properties of the first photo that may hold what photos
// seldom say otherwise, where there is just one for each.
func (l *list) suggest(h head, size int64) {
	properties, err := photo.Properties(h, size)
	if err != nil {
		return // the photo itself was read
	}
	for quantity, found := range photo.Suggest(properties) {
		if _, named := l.names[quantity]; !named && len(found) == 1 {
			l.suggested[quantity] = found[0].Name
		}
	}
}

// head is the beginning of a photo.
type head struct {
	*bytes.Reader
	size int64 // of the whole photo
}

var errBeyond = errors.New("the page sends no more of a photo; the command line reads on")

// ReadAt reads of what is there, and fails beyond it.
func (h head) ReadAt(p []byte, offset int64) (int, error) {
	n, err := h.Reader.ReadAt(p, offset)
	if n < len(p) && offset+int64(n) < h.size {
		return n, errBeyond
	}
	return n, err
}

func sorted(f flags) []string { return slices.Sorted(maps.Keys(f)) }
