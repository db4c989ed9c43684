package main

import (
	"fmt"
	"io"
	"os"
	"runtime"
	"time"

	"golang.org/x/term"
)

// isTerminal reports whether w is read by a person as it is written.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// bold reports whether standard output understands bold text.
func (a *app) bold() bool {
	plain := a.noColor || os.Getenv("NO_COLOR") != "" || os.Getenv("TERM") == "dumb" || runtime.GOOS == "windows"
	return !plain && isTerminal(a.out)
}

// patience is how long work may last before it says that it goes on.
const patience = time.Second

// progress shows what is being done, and for how long, on a terminal once it
// lasts. The function returned ends it and wipes the line.
func (a *app) progress(doing string) (stop func()) {
	if a.quiet || !isTerminal(a.errOut) {
		return func() {}
	}
	ended, wiped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(wiped)
		began, shown := time.Now(), false
		tick := time.NewTicker(patience)
		defer tick.Stop()
		for {
			select {
			case <-ended:
				if shown {
					fmt.Fprint(a.errOut, "\r\x1b[K")
				}
				return
			case <-tick.C:
				shown = true
				fmt.Fprintf(a.errOut, "\r\x1b[K%s, %d s", doing, int(time.Since(began).Seconds()))
			}
		}
	}()
	return func() { close(ended); <-wiped }
}
