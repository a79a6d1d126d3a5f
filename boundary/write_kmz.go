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
	archive, err := zipped("doc.kml", text.Bytes())
	if err != nil {
		return fmt.Errorf("writing KMZ: %w", err)
	}
	_, err = w.Write(archive)
	return err
}

// zipped returns an archive of one file. Sizes and checksum stand before the
// content, not after it: simple readers look for them there.
func zipped(name string, content []byte) ([]byte, error) {
	var packed, archive bytes.Buffer
	deflate, err := flate.NewWriter(&packed, flate.DefaultCompression)
	if err != nil {
		return nil, err
	}
	if _, err := deflate.Write(content); err != nil {
		return nil, err
	}
	if err := deflate.Close(); err != nil {
		return nil, err
	}
	out := zip.NewWriter(&archive)
	member, err := out.CreateRaw(&zip.FileHeader{
		Name: name, Method: zip.Deflate, ReaderVersion: 20, CRC32: crc32.ChecksumIEEE(content),
		CompressedSize64: uint64(packed.Len()), UncompressedSize64: uint64(len(content)),
		//lint:ignore SA1019 CreateRaw takes no other; 1 January 1980, the first day that the format knows
		ModifiedDate: 1<<5 | 1,
	})
	if err != nil {
		return nil, err
	}
	if _, err := member.Write(packed.Bytes()); err != nil {
		return nil, err
	}
	if err := out.Close(); err != nil {
		return nil, err
	}
	return archive.Bytes(), nil
}
