package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"slices"
	"sync"
	"sync/atomic"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
	"selvage/report"
)

// positionsTable is the role of a table that stands for photos.
const positionsTable = "positions table"

// readTables reads every positions table.
func (s *search) readTables(t *take, lim photo.TableLimits) error {
	for _, table := range s.tables {
		photos, leftOut, input, err := readTable(table, positionsTable, lim)
		if err != nil {
			return err
		}
		if len(t.photos) == 0 {
			t.photos = photos // of the one table there is, mostly, and not copied
		} else {
			t.photos = append(t.photos, photos...)
		}
		t.leftOut = append(t.leftOut, leftOut...)
		t.inputs = append(t.inputs, input)
	}
	return nil
}

func readTable(table source, role string, lim photo.TableLimits) ([]photo.Photo, []photo.LeftOut, report.Input, error) {
	data, err := readAtMost(table.path, lim.Bytes)
	if err != nil {
		return nil, nil, report.Input{}, err
	}
	photos, leftOut, err := photo.ReadPositions(table.name, data, lim)
	return photos, leftOut, report.Input{Role: role, Name: table.name, SHA256: sum(data)}, err
}

// outcome is what became of one photo besides its metadata.
type outcome struct {
	err    error
	system bool // err is the system's
	sum    [sha256.Size]byte
	size   int64
	time   int64 // of the last change, nanoseconds
}

// readers is how many photos are read at a time; more only makes a card slower.
const readers = 2

// readPhotos reads the beginning of every photo. Broken off by ctx it returns
// at once, even where the system still waits for a card.
func (s *search) readPhotos(ctx context.Context, names photo.Names, progress func()) (*take, error) {
	photos, outcomes := make([]photo.Photo, len(s.photos)), make([]outcome, len(s.photos))
	var next, finished atomic.Int64
	var each sync.WaitGroup
	for range min(readers, len(s.photos)) {
		each.Go(func() {
			r := newReader(names, s.head)
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(s.photos) {
					return
				}
				photos[i], outcomes[i] = r.read(s.photos[i])
				finished.Add(1)
				progress()
			}
		})
	}
	ended := make(chan struct{})
	go func() {
		each.Wait()
		close(ended)
	}()
	select {
	case <-ended:
	case <-ctx.Done():
	}
	if n := int(finished.Load()); n < len(s.photos) {
		return nil, stopped{n, len(s.photos)}
	}
	return s.sort(photos, outcomes), nil
}

// sort tells the photos that were read from those that were not, and from
// those that are one file.
func (s *search) sort(photos []photo.Photo, outcomes []outcome) *take {
	t := &take{unread: slices.Clone(s.unread)}
	again := s.sameFiles(outcomes)
	kept := photos[:0]
	for i, o := range outcomes {
		switch {
		case again[i]:
			t.repeated++
		case errors.Is(o.err, photo.ErrUnlocated):
			t.unlocated = append(t.unlocated, unlocated{photos[i], o.err})
		case o.err != nil:
			left := photo.LeftOut{File: s.photos[i].name, Reason: finding.Plain(o.err.Error())}
			t.leftOut = append(t.leftOut, left)
			if o.system {
				t.unread = append(t.unread, left)
			}
		default:
			kept = append(kept, photos[i])
		}
	}
	t.photos = kept
	if len(s.photos) > 0 {
		t.inputs = append(t.inputs, report.Input{
			Role: "photos", Name: report.Count(len(s.photos)-t.repeated, "photo", "photos"), SHA256: s.combined(outcomes, again),
		})
	}
	return t
}

// mostAlike is how many equal copies each further one is held against.
const mostAlike = 16

// sameFiles marks the photos that an earlier one is, under another path. Only
// files that look alike are asked of the system.
func (s *search) sameFiles(outcomes []outcome) []bool {
	type looks struct {
		size, time int64
		sum        [sha256.Size]byte
	}
	first := make(map[looks]int, len(outcomes))
	alike := map[looks][]int{} // beyond the first
	again := make([]bool, len(outcomes))
	for i, o := range outcomes {
		if o.system {
			continue
		}
		l := looks{o.size, o.time, o.sum}
		k, met := first[l]
		if !met {
			first[l] = i
			continue
		}
		again[i] = slices.ContainsFunc(append([]int{k}, alike[l]...), func(k int) bool {
			a, errA := os.Stat(s.photos[k].path)
			b, errB := os.Stat(s.photos[i].path)
			return errA == nil && errB == nil && os.SameFile(a, b)
		})
		if !again[i] && len(alike[l]) < mostAlike {
			alike[l] = append(alike[l], i)
		}
	}
	return again
}

// hashedBytes is how much of each photo is hashed: to hash all that is read
// would take longer than to read it.
const hashedBytes = 8 << 10

// reader reads one photo after the other. It hashes the beginning of each as it
// passes.
type reader struct {
	names photo.Names
	head  int // bytes that may be read of one beyond its first part
	words photo.Words
	hash  hash.Hash

	file   *os.File
	hashed bool
	fault  error // the system's
}

func newReader(names photo.Names, head int) *reader {
	return &reader{names: names, head: cmp.Or(head, photo.UsualHead), words: photo.Words{}, hash: sha256.New()}
}

// ReadAt reads from the file.
func (r *reader) ReadAt(p []byte, offset int64) (int, error) {
	n, err := r.file.ReadAt(p, offset)
	if err != nil && !errors.Is(err, io.EOF) {
		r.fault = err
	}
	if offset == 0 && !r.hashed {
		r.hash.Write(p[:min(n, hashedBytes)])
		r.hashed = true
	}
	return n, err
}

func (r *reader) read(file source) (photo.Photo, outcome) {
	fault := func(err error) (photo.Photo, outcome) {
		return photo.Photo{}, outcome{err: errors.New(unreadable(err)), system: true}
	}
	var err error
	if r.file, err = os.Open(file.path); err != nil {
		return fault(err)
	}
	defer r.file.Close()
	info, err := r.file.Stat()
	if err != nil {
		return fault(err)
	}
	r.hash.Reset()
	r.hashed, r.fault = false, nil
	p, err := photo.ReadAtMost(file.name, r, info.Size(), r.names, r.head)
	if r.fault != nil {
		return fault(r.fault)
	}
	for _, word := range []*string{&p.CameraModel, &p.Lens, &p.CameraSource, &p.MapDatum} {
		*word = r.words.Once(*word)
	}
	o := outcome{err: err, size: info.Size(), time: info.ModTime().UnixNano()}
	r.hash.Sum(o.sum[:0])
	return p, o
}

// headHash says what combined hashes.
const headHash = "SHA-256 of a list with one line a photo, in the order of their names: " +
	"the SHA-256 of the file's first 8,192 bytes, two spaces, the name"

// combined is one hash for all photos: that of the list which sha256sum would
// print for the heads of the files, sorted by name.
func (s *search) combined(outcomes []outcome, again []bool) string {
	var order []int
	for i := range outcomes {
		if !again[i] {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(s.photos[a].name, s.photos[b].name), bytes.Compare(outcomes[a].sum[:], outcomes[b].sum[:]))
	})
	list := sha256.New()
	for _, i := range order {
		fmt.Fprintf(list, "%x  %s\n", outcomes[i].sum, s.photos[i].name)
	}
	return hex.EncodeToString(list.Sum(nil))
}

func sum(data []byte) string {
	s := sha256.Sum256(data)
	return hex.EncodeToString(s[:])
}
