// Command airtally turns flows, run times and laboratory masses into air
// volumes, exposures and comparisons with occupational exposure limits.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
)

// softMemoryLimit is where the garbage collector begins to work harder rather
// than let the heap grow: a million laboratory rows fit under it.
const softMemoryLimit = 1250 << 20

func main() {
	debug.SetMemoryLimit(softMemoryLimit)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second signal ends the program at once
	os.Exit(run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
