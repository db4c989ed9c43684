package limits

import "testing"

// BenchmarkEmbedded reads all the lists, as each run of the program that
// compares or searches does once: it is to stay under 10 ms.
func BenchmarkEmbedded(b *testing.B) {
	for b.Loop() {
		readLibrary()
	}
}
