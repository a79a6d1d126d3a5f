//go:build ignore

// Random_dll writes the Windows library from which Go has its random numbers,
// which some versions of Wine lack. It hands the one function on to another
// library that has had it for longer:
//
//	go run random_dll.go .../system32/bcryptprimitives.dll
package main

import (
	"bytes"
	"encoding/binary"
	"log"
	"os"
)

func main() {
	const (
		at    = 0x1000 // where the section lies in memory
		block = 0x200  // of the file
	)
	var out bytes.Buffer
	put := func(values ...any) {
		for _, v := range values {
			_ = binary.Write(&out, binary.LittleEndian, v) // a buffer takes everything
		}
	}
	// The one section: a directory of one name that stands for another
	// (Microsoft, "PE Format": .edata, export address table, forwarder RVA).
	const library, name, forwarded = "bcryptprimitives.dll\x00", "ProcessPrng\x00", "advapi32.SystemFunction036\x00"
	const strings = at + 40 + 4 + 4 + 2
	put([3]uint32{}, uint32(strings), [3]uint32{1, 1, 1}, [3]uint32{at + 40, at + 44, at + 48})
	put(uint32(strings+len(library)+len(name)), uint32(strings+len(library)), uint16(0))
	out.WriteString(library + name + forwarded)
	section := bytes.Clone(out.Bytes())

	out.Reset()
	out.WriteString("MZ")
	put([58]byte{}, uint32(64))
	out.WriteString("PE\x00\x00")
	put(uint16(0x8664), uint16(1), [3]uint32{}, uint16(240), uint16(0x2022))             // amd64, a library
	put(uint16(0x20b), uint16(14), [4]uint32{0, block}, uint32(at))                      // PE32+
	put(uint64(0x180000000), uint32(0x1000), uint32(block), [6]uint16{6, 0, 0, 0, 6, 0}) // aligned
	put(uint32(0), uint32(0x2000), uint32(block), uint32(0), uint16(3), uint16(0x160))   // sizes
	put([4]uint64{0x100000, 0x1000, 0x100000, 0x1000}, uint32(0), uint32(16))            // stack and heap
	put(uint32(at), uint32(len(section)), [30]uint32{})                                  // directories
	out.WriteString(".rdata\x00\x00")
	put(uint32(len(section)), uint32(at), uint32(block), uint32(block), [3]uint32{}, uint32(0x40000040))
	out.Write(make([]byte, block-out.Len()))
	out.Write(section)
	out.Write(make([]byte, 2*block-out.Len()))
	if len(os.Args) != 2 {
		log.Fatal("usage: random_dll FILE")
	}
	if err := os.WriteFile(os.Args[1], out.Bytes(), 0o666); err != nil {
		log.Fatal(err)
	}
}
