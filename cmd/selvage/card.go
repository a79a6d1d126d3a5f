package main

import (
	"errors"
	"fmt"
	"os"

	"selvage/report"
)

const (
	// spareSpace stays free on a card.
	spareSpace = 1 << 20
	// cardCluster is what a file takes up at least, and a multiple of which: the
	// cluster of exFAT on cards over 32 GB (Microsoft, "Default cluster size").
	cardCluster = 128 << 10
)

// commitToCard writes what was planned to a folder on a memory card, which must
// be there already: a card that is not in its slot must not become a folder on
// the disk. It first sees to it that there is room, by free, which returns the
// bytes that are free where a folder lies.
func (o *outputs) commitToCard(free func(folder string) (uint64, error)) error {
	info, err := os.Stat(o.folder)
	if err != nil {
		return fmt.Errorf("the card's folder %s cannot be used: %w", o.folder, plain(err))
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is a file, not a card's folder", o.folder)
	}
	if err := o.checkSpace(free); err != nil {
		return err
	}
	if err := o.commit(); err != nil {
		return err
	}
	if err := syncFolder(o.folder); err != nil {
		return fmt.Errorf("the files are written to %s, but the card has not confirmed it: %w", o.folder, plain(err))
	}
	return nil
}

// checkSpace reports whether the planned files have room in the folder, beside
// those that they replace. Where the system cannot tell what is free, it passes.
func (o *outputs) checkSpace(free func(folder string) (uint64, error)) error {
	needed := uint64(spareSpace)
	for _, p := range o.planned {
		var size counter
		if err := p.write(&size); err != nil {
			return err
		}
		needed += (uint64(size) + cardCluster - 1) / cardCluster * cardCluster
	}
	there, err := free(o.folder)
	if errors.Is(err, errors.ErrUnsupported) {
		return nil
	} else if err != nil {
		return fmt.Errorf("how much is free in %s cannot be told: %w", o.folder, plain(err))
	}
	if there < needed {
		return fmt.Errorf("%s has %s kB free; %s kB are needed for %s", o.folder,
			report.Number(int(there/1000)), report.Number(int(needed/1000+1)), report.Count(len(o.planned), "file", "files"))
	}
	return nil
}

// counter counts what is written to it.
type counter uint64

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}
