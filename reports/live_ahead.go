package reports

import (
	"context"
	"runtime"

	"airtally/exposure"
)

// worked is a row with its formulas worked out.
type worked struct {
	steps    []exposure.Step
	formulas []string // of each step
}

// workedRows gives the rows of a sheet in their order, while later ones are
// worked out on all processors.
type workedRows struct {
	queue chan chan []worked
	chunk []worked
}

// chunkRows is how many rows are worked out at a time.
const chunkRows = 64

// workAhead begins to work out the rows of a part of an array. It ends when all
// were taken or ctx is done.
func workAhead(ctx context.Context, known *registry, p *placed, from, to int) *workedRows {
	w := &workedRows{queue: make(chan chan []worked, runtime.GOMAXPROCS(0))}
	go func() {
		defer close(w.queue)
		for at := from; at < to; at += chunkRows {
			chunk := make(chan []worked, 1)
			select {
			case w.queue <- chunk:
			case <-ctx.Done():
				return
			}
			go func() { chunk <- known.work(p, at, min(at+chunkRows, to)) }()
		}
	}()
	return w
}

// next returns the next row; an empty one where the work was ended.
func (w *workedRows) next() worked {
	if len(w.chunk) == 0 {
		chunk, more := <-w.queue
		if !more {
			return worked{}
		}
		w.chunk = <-chunk
	}
	row := w.chunk[0]
	w.chunk = w.chunk[1:]
	return row
}

// work works out some rows of an array.
func (k *registry) work(p *placed, from, to int) []worked {
	rows := make([]worked, 0, to-from)
	sheet, _ := p.sheetAndRow(from)
	f := formula{known: k, sheet: sheet}
	for row := from; row < to; row++ {
		one := worked{steps: p.steps(row)}
		one.formulas = make([]string, len(one.steps))
		for i := range one.steps {
			one.formulas[i] = f.step(&one.steps[i])
		}
		rows = append(rows, one)
	}
	return rows
}
