package reports

import (
	"bytes"
	"compress/flate"
	"hash/crc32"
	"slices"
	"sync"
)

const (
	waitingBlocks = 16 // that may wait for being compressed
	deflateLevel  = 4  // the fastest that looks for more than near matches
)

// deflated is bytes that are compressed as they come, beside the work that
// makes them.
type deflated struct {
	blocks     chan []byte
	done       sync.WaitGroup
	final      bool
	compressed bytes.Buffer
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
	d.blocks <- slices.Clone(b)
	return len(b), nil
}

func (d *deflated) write(all ...[]byte) {
	for _, b := range all {
		d.blocks <- b
	}
}

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
	w, err := flate.NewWriter(&d.compressed, deflateLevel)
	for b := range d.blocks {
		d.crc = crc32.Update(d.crc, crc32.IEEETable, b)
		d.size += uint64(len(b))
		if err == nil {
			_, err = w.Write(b)
		}
	}
	switch {
	case err != nil:
	case d.final:
		err = w.Close()
	default:
		err = w.Flush()
	}
	d.err = err
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
