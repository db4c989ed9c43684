package exposure

import (
	"runtime"
	"slices"
	"sync"

	"airtally/exposure/finding"
)

// gather makes one slice of what n items yield, in their order, working on all
// processors. Bound says how much item i yields at most; do appends it to out.
// Each worker fills its own part of the slice, so nothing is copied but to
// close gaps, unless an item yields more than its bound.
func gather[T any](n int, bound func(i int) int, start func() (do func(out []T, i int) []T)) []T {
	workers := min(runtime.GOMAXPROCS(0), max(n, 1))
	chunk := (n + workers - 1) / workers
	bounds := make([]int, workers)
	total := 0
	for w := range workers {
		for i := w * chunk; i < min((w+1)*chunk, n); i++ {
			bounds[w] += bound(i)
		}
		total += bounds[w]
	}
	all := make([]T, total)
	parts := make([][]T, workers)
	var group sync.WaitGroup
	from := 0
	for w := range workers {
		part, do := all[from:from:from+bounds[w]], start()
		from += bounds[w]
		group.Go(func() {
			for i := w * chunk; i < min((w+1)*chunk, n); i++ {
				part = do(part, i)
			}
			parts[w] = part
		})
	}
	group.Wait()
	all = all[:0]
	for w, part := range parts {
		if len(part) > bounds[w] { // moved elsewhere; closing gaps would write over the next
			return slices.Concat(parts...)
		}
	}
	for _, part := range parts {
		all = append(all, part...)
	}
	return all
}

// slab hands out small slices cut from large ones, where a great many of them
// live as long as the results.
type slab[T any] struct {
	free []T
	made int // how large the last one was
}

func (s *slab[T]) take(n int) []T {
	if len(s.free) < n {
		s.made = min(max(16, 2*s.made), 1024)
		s.free = make([]T, max(s.made, n))
	}
	taken := s.free[:n:n]
	s.free = s.free[n:]
	return taken
}

// aside runs a step of a reduction beside what follows, with findings of its
// own. The function it returns waits for it.
func (r *reduction) aside(step func(*reduction)) (wait func()) {
	own := *r
	own.findings = &finding.List{}
	done := make(chan struct{})
	go func() {
		defer close(done)
		step(&own)
	}()
	return func() {
		<-done
		r.findings.Merge(own.findings)
	}
}

// inChunks does something to each of n items, on all processors, with findings
// of its own for each part.
func (r *reduction) inChunks(n int, do func(r *reduction, i int)) {
	workers := runtime.GOMAXPROCS(0)
	chunk := (n + workers - 1) / workers
	var waits []func()
	for from := 0; from < n; from += chunk {
		waits = append(waits, r.aside(func(r *reduction) {
			for i := from; i < min(from+chunk, n); i++ {
				do(r, i)
			}
		}))
	}
	for _, wait := range waits {
		wait()
	}
}
