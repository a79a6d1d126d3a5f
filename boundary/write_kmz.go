package boundary

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"hash/crc32"
	"io"
)

// WriteKMZ writes what WriteKML writes, as doc.kml in a zip archive. The same
// areas give the same bytes.
func WriteKMZ(w io.Writer, document string, areas []Area) error {
	var text bytes.Buffer
	if err := WriteKML(&text, document, areas); err != nil {
		return err
	}
	return WriteArchive(w, []Member{{"doc.kml", text.Bytes()}})
}

// Member is a file in an archive.
type Member struct {
	Name    string
	Content []byte
}

// WriteArchive writes a zip archive; the same members give the same bytes.
// Sizes and checksums stand before the contents, not after them: simple
// readers look for them there.
func WriteArchive(w io.Writer, members []Member) error {
	var archive bytes.Buffer
	out := zip.NewWriter(&archive)
	for _, m := range members {
		if err := addMember(out, m); err != nil {
			return fmt.Errorf("writing KMZ: %w", err)
		}
	}
	if err := out.Close(); err != nil {
		return fmt.Errorf("writing KMZ: %w", err)
	}
	_, err := w.Write(archive.Bytes())
	return err
}

func addMember(archive *zip.Writer, m Member) error {
	var packed bytes.Buffer
	deflate, err := flate.NewWriter(&packed, flate.DefaultCompression)
	if err != nil {
		return err
	}
	if _, err := deflate.Write(m.Content); err != nil {
		return err
	}
	if err := deflate.Close(); err != nil {
		return err
	}
	out, err := archive.CreateRaw(&zip.FileHeader{
		Name: m.Name, Method: zip.Deflate, ReaderVersion: 20, CRC32: crc32.ChecksumIEEE(m.Content),
		CompressedSize64: uint64(packed.Len()), UncompressedSize64: uint64(len(m.Content)),
		//lint:ignore SA1019 CreateRaw takes no other; 1 January 1980, the first day that the format knows
		ModifiedDate: 1<<5 | 1,
	})
	if err != nil {
		return err
	}
	_, err = out.Write(packed.Bytes())
	return err
}
