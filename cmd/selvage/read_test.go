package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"selvage/coverage/photo"
)

// card writes a folder of photos whose names are far from the order in which
// they are made, and returns it.
func card(t *testing.T, count int) string {
	t.Helper()
	folder := t.TempDir()
	for i := range count {
		p := photo.New("", onGround(float64(i), 0))
		p.Altitude, p.AltitudeDatum = 200, photo.SeaLevel
		var data bytes.Buffer
		if err := photo.Encode(&data, image.NewGray(image.Rect(0, 0, 8, 8)), p); err != nil {
			t.Fatal(err)
		}
		if i%3 == 0 { // longer than what is read of it
			data.Write(make([]byte, photo.FirstRead))
		}
		path := filepath.Join(folder, fmt.Sprintf("%c", 'a'+i%5), fmt.Sprintf("%03d.jpg", i*7%count))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

func TestPhotosReadTheSameAlways(t *testing.T) {
	const count = 60
	folder := card(t, count)
	var first *take
	for range 3 {
		found, err := find(t.Context(), named([]string{folder}))
		if err != nil {
			t.Fatal(err)
		}
		steps := make(chan struct{}, count)
		took, err := found.readPhotos(t.Context(), nil, func() { steps <- struct{}{} })
		if err != nil {
			t.Fatal(err)
		}
		if len(took.photos) != count || len(steps) != count {
			t.Fatalf("%d photos in %d steps, want %d", len(took.photos), len(steps), count)
		}
		for i := range took.photos[1:] {
			if took.photos[i].File >= took.photos[i+1].File {
				t.Fatalf("%s comes before %s", took.photos[i].File, took.photos[i+1].File)
			}
		}
		if first == nil {
			first = took
		} else if fmt.Sprintf("%+v", took) != fmt.Sprintf("%+v", first) { // in words, since NaN is not equal to itself
			t.Fatal("two readings of one card differ")
		}
	}
}

// The hash of the photos is that of the list which sha256sum prints for what
// head -c 8192 cuts off each file, sorted by name.
func TestHashOfPhotos(t *testing.T) {
	folder := card(t, 20)
	found, err := find(t.Context(), named([]string{folder}))
	if err != nil {
		t.Fatal(err)
	}
	took, err := found.readPhotos(t.Context(), nil, func() {})
	if err != nil {
		t.Fatal(err)
	}
	paths, err := filepath.Glob(filepath.Join(folder, "*", "*.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		name, err := filepath.Rel(filepath.Dir(folder), path)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, fmt.Sprintf("%x  %s\n", sha256.Sum256(data[:min(len(data), 8192)]), filepath.ToSlash(name)))
	}
	sort.Slice(lines, func(i, j int) bool { return lines[i][64:] < lines[j][64:] })
	want := fmt.Sprintf("%x", sha256.Sum256([]byte(strings.Join(lines, ""))))
	if got := took.inputs[0]; got.SHA256 != want || got.Name != "20 photos" {
		t.Errorf("%+v, want %s", got, want)
	}
}

func TestOneByteMoreIsAnotherHash(t *testing.T) {
	folder := card(t, 5)
	hashOf := func() string {
		found, err := find(t.Context(), named([]string{folder}))
		if err != nil {
			t.Fatal(err)
		}
		took, err := found.readPhotos(t.Context(), nil, func() {})
		if err != nil {
			t.Fatal(err)
		}
		return took.inputs[0].SHA256
	}
	before := hashOf()
	path := filepath.Join(folder, "b", "002.jpg")
	f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write([]byte{0}); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if hashOf() == before {
		t.Error("a changed photo has the same hash")
	}
}
