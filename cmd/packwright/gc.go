package main

import (
	"os"
	"runtime/debug"
)

// hubGC is how much a hub's heap may grow between two collections, in per cent of
// what lives on it. The runtime's own 100 would let a floor of five million events
// use half as much memory again as it needs; BenchmarkGrowth starts its hub the
// same way. GOGC in the environment goes before it.
const hubGC = 50

func keepHeapSmall() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(hubGC)
	}
}
