package reports

import (
	"hash/crc32"
	"io"
	"sync"

	"github.com/klauspost/compress/flate"
)

const (
	blockSize     = 1 << 17 // bytes that are handed on at a time
	waitingBlocks = 16      // that may wait for being compressed
	deflateLevel  = 5       // as fast here as lower ones
)

// usedBlocks and usedWriters are taken up again: a workbook has many sheets.
var (
	usedBlocks  = sync.Pool{New: func() any { return new(make([]byte, 0, blockSize+blockSize/8)) }}
	usedWriters sync.Pool
)

func emptyBlock() []byte { return (*usedBlocks.Get().(*[]byte))[:0] }

// blocks gathers bytes without moving them.
type blocks struct {
	all  [][]byte
	size int
}

// Write takes a copy of some bytes.
func (k *blocks) Write(b []byte) (int, error) {
	k.size += len(b)
	for rest := b; len(rest) > 0; {
		if n := len(k.all); n == 0 || len(k.all[n-1]) == cap(k.all[n-1]) {
			k.all = append(k.all, emptyBlock())
		}
		last := &k.all[len(k.all)-1]
		room := min(len(rest), cap(*last)-len(*last))
		*last, rest = append(*last, rest[:room]...), rest[room:]
	}
	return len(b), nil
}

// writeTo hands the bytes on, once.
func (k *blocks) writeTo(w io.Writer) error {
	for _, b := range k.all {
		if _, err := w.Write(b); err != nil {
			return err
		}
		usedBlocks.Put(&b)
	}
	return nil
}

// deflater returns a writer that compresses into to.
func deflater(to io.Writer) (*flate.Writer, error) {
	if w, is := usedWriters.Get().(*flate.Writer); is {
		w.Reset(to)
		return w, nil
	}
	return flate.NewWriter(to, deflateLevel)
}

// deflated is bytes that are compressed as they come, beside the work that
// makes them.
type deflated struct {
	blocks     chan []byte
	done       sync.WaitGroup
	final      bool
	compressed blocks
	crc        uint32
	size       uint64
	err        error
}

func deflate() *deflated {
	d := &deflated{blocks: make(chan []byte, waitingBlocks)}
	d.done.Go(d.compress)
	return d
}

// Write takes a copy of some bytes.
func (d *deflated) Write(b []byte) (int, error) {
	d.blocks <- append(emptyBlock(), b...)
	return len(b), nil
}

// take takes over bytes that nobody else will write to.
func (d *deflated) take(b []byte) { d.blocks <- b }

// end ends the compressed stream.
func (d *deflated) end() {
	d.final = true
	close(d.blocks)
}

// pause ends the bytes at a place where another stream may go on
// (RFC 1951, 3.2.4: an empty stored block ends at a byte).
func (d *deflated) pause() { close(d.blocks) }

// wait returns once all is compressed.
func (d *deflated) wait() error {
	d.done.Wait()
	return d.err
}

func (d *deflated) compress() {
	w, err := deflater(&d.compressed)
	for b := range d.blocks {
		d.crc = crc32.Update(d.crc, crc32.IEEETable, b)
		d.size += uint64(len(b))
		if err == nil {
			_, err = w.Write(b)
		}
		usedBlocks.Put(&b)
	}
	switch {
	case err != nil:
	case d.final:
		err = w.Close()
	default:
		err = w.Flush()
	}
	if d.err = err; err == nil {
		usedWriters.Put(w)
	}
}

// joinCRC32 returns the checksum of two runs of bytes after one another, from
// that of each and the length of the second: a zero bit behind a run is a
// linear operator on its checksum, and 2ⁿ of them are its n-th square.
func joinCRC32(first, second uint32, length uint64) uint32 {
	var operator [32]uint32
	operator[0] = crc32.IEEE
	for i := 1; i < len(operator); i++ {
		operator[i] = 1 << (i - 1)
	}
	for bits := length * 8; bits > 0; bits >>= 1 {
		if bits&1 != 0 {
			first = apply(&operator, first)
		}
		operator = squareOf(&operator)
	}
	return first ^ second
}

func apply(operator *[32]uint32, to uint32) uint32 {
	sum := uint32(0)
	for i := 0; to != 0; i, to = i+1, to>>1 {
		if to&1 != 0 {
			sum ^= operator[i]
		}
	}
	return sum
}

func squareOf(operator *[32]uint32) (square [32]uint32) {
	for i := range operator {
		square[i] = apply(operator, operator[i])
	}
	return square
}
