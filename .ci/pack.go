//go:build ignore

// Pack puts files into an archive whose bytes depend on nothing else than their
// names and bytes and one time, in seconds since 1970:
//
//	go run pack.go ARCHIVE.zip|ARCHIVE.tar.gz SECONDS FILE...
//
// Within the archive the files lie in a folder with the archive's name. The
// first of them is the program.
package main

import (
	"archive/tar"
	"archive/zip"
	"compress/flate"
	"compress/gzip"
	"io"
	"log"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

func main() {
	log.SetFlags(0)
	if len(os.Args) < 4 {
		log.Fatal("usage: pack ARCHIVE SECONDS FILE...")
	}
	archive := os.Args[1]
	seconds, err := strconv.ParseInt(os.Args[2], 10, 64)
	check(err)
	out, err := os.Create(archive)
	check(err)
	add, end := packer(out, archive, time.Unix(seconds, 0).UTC())
	folder, _, _ := strings.Cut(strings.TrimSuffix(filepath.Base(archive), ".zip"), ".tar.gz")
	for i, file := range os.Args[3:] {
		data, err := os.ReadFile(file)
		check(err)
		mode := os.FileMode(0o644)
		if i == 0 {
			mode = 0o755
		}
		check(add(folder+"/"+filepath.Base(file), mode, data))
	}
	check(end())
	check(out.Close())
}

func packer(out io.Writer, name string, t time.Time) (add func(string, os.FileMode, []byte) error, end func() error) {
	if strings.HasSuffix(name, ".zip") {
		z := zip.NewWriter(out)
		z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) {
			return flate.NewWriter(w, flate.BestCompression)
		})
		return func(name string, mode os.FileMode, data []byte) error {
			h := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: t}
			h.SetMode(mode)
			w, err := z.CreateHeader(h)
			if err == nil {
				_, err = w.Write(data)
			}
			return err
		}, z.Close
	}
	g, err := gzip.NewWriterLevel(out, gzip.BestCompression)
	check(err)
	z := tar.NewWriter(g)
	return func(name string, mode os.FileMode, data []byte) error {
			err := z.WriteHeader(&tar.Header{Name: name, Mode: int64(mode), Size: int64(len(data)), ModTime: t, Format: tar.FormatUSTAR})
			if err == nil {
				_, err = z.Write(data)
			}
			return err
		}, func() error {
			if err := z.Close(); err != nil {
				return err
			}
			return g.Close()
		}
}

func check(err error) {
	if err != nil {
		log.Fatal("pack: ", err)
	}
}
