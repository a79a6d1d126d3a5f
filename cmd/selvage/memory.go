package main

import (
	"fmt"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"sync/atomic"
	"time"
)

// usualMemory is twice what an audit of a million photos takes, in bytes.
const usualMemory = 4_000_000_000

// memoryLimit is how much memory the program may take, in bytes. It is the
// process's, as memory is.
var memoryLimit atomic.Int64

// limitMemory says how much it is from now on. The collector works harder
// before that much is taken.
func limitMemory(bytes int64) {
	memoryLimit.Store(bytes)
	debug.SetMemoryLimit(bytes)
}

// watchMemory ends the program with a sentence when it takes more than it may.
// What it was writing then goes as what any killed run leaves does, with the
// next one.
func watchMemory(t terminal) {
	const often = 20 * time.Millisecond
	for range time.Tick(often) {
		if most := memoryLimit.Load(); memoryTaken() > most {
			limit := sizeLimit("memory", &most, 0, "")
			fmt.Fprintf(t.err, "selvage: this takes more than the limit of %s of memory (--limit memory)\n", limit.amount(limit.get()))
			os.Exit(couldNotRun)
		}
	}
}

// memoryTaken is what the program has of the system's memory, in bytes, but for
// its own code.
func memoryTaken() int64 {
	taken := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	metrics.Read(taken)
	return int64(taken[0].Value.Uint64() - taken[1].Value.Uint64())
}
