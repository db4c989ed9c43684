package stats

import "testing"

var benchWorkers = [][]float64{{0.32, 0.51, 0.28}, {1.1, 0.75, 0.9, 1.6}, {0.22, 0.18}, {0.66, 0.41, 0.95}, {0.12, 0.3, 0.21, 0.19}, {2.2}}

func BenchmarkWorkerVariance(b *testing.B) {
	for b.Loop() {
		if _, err := EstimateWorkerVariance(benchWorkers); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCompareGeometricMeans(b *testing.B) {
	for b.Loop() {
		if _, err := CompareGeometricMeans(benchWorkers, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}
