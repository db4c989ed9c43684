package group_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"airtally/exposure/group"
	"airtally/stats"
)

// twelve returns twelve shifts of four workers, every so-manyth under a
// reporting limit.
func twelve(random *rand.Rand, censoredEvery int) []group.Shift {
	shifts := make([]group.Shift, 12)
	for i := range shifts {
		x := math.Exp(random.NormFloat64())
		shifts[i] = group.Shift{
			Worker:   fmt.Sprintf("W-%d", i%4),
			Date:     fmt.Sprintf("2026-%02d-03", 1+i),
			Exposure: stats.Exact(x),
		}
		if censoredEvery > 0 && i%censoredEvery == 0 {
			shifts[i].Exposure = stats.Under(x, x/2)
		}
	}
	return shifts
}

// BenchmarkJudge is one group of twelve shifts with all statistics and both
// cross-checks, on all cores: 10,000 of them take as many times as long.
func BenchmarkJudge(b *testing.B) {
	for _, c := range []struct {
		name  string
		every int
	}{{"exact", 0}, {"a quarter under reporting limits", 4}, {"half under reporting limits", 2}, {"all under reporting limits", 1}} {
		b.Run(c.name, func(b *testing.B) {
			b.RunParallel(func(p *testing.PB) {
				random := rand.New(rand.NewPCG(1, 12))
				for p.Next() {
					_, _ = group.Judge(twelve(random, c.every), 5, group.Options{KaplanMeier: true, OrderStatistics: true})
				}
			})
		})
	}
}

// fifty returns the shifts of a large group, every fourth of them an average
// that is known between bounds, narrow or wide, each its own.
func fifty(random *rand.Rand) []group.Shift {
	shifts := make([]group.Shift, 50)
	for i := range shifts {
		x := math.Exp(random.NormFloat64())
		shifts[i] = group.Shift{Worker: fmt.Sprintf("W-%d", i%12), Date: fmt.Sprintf("2026-%02d-%02d", 1+i%12, 1+i%28), Exposure: stats.Exact(x)}
		if i%4 == 0 {
			width := math.Pow(10, -3*random.Float64()) // 0.1 to 100 %
			shifts[i].Exposure = stats.Interval{Low: x, Value: x * (1 + width/2), High: x * (1 + width)}
		}
	}
	return shifts
}

// BenchmarkJudgeLarge is one group of fifty shifts against six limits.
func BenchmarkJudgeLarge(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 50))
	for b.Loop() {
		sample, err := group.NewSample(fifty(random), group.Options{})
		if err != nil {
			b.Fatal(err)
		}
		for _, limit := range []float64{0.5, 1, 2, 5, 10, 100} {
			_, _ = sample.Against(limit)
		}
	}
}
