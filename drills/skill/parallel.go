package skill

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"sync/atomic"
)

// Progress is told how many runs of a simulation are done, of how many, by
// one goroutine at a time. It may be nil.
type Progress func(done, of int)

// inParallel calls run for 0 to n-1, on all processors, and keeps the results
// in order. It ends early with the error of ctx.
func inParallel[T any](ctx context.Context, n int, progress Progress, run func(i int) T) ([]T, error) {
	results := make([]T, n)
	var next atomic.Int64
	var telling sync.Mutex
	var workers sync.WaitGroup
	done := 0
	for range min(runtime.GOMAXPROCS(0), n) {
		workers.Go(func() {
			for i := int(next.Add(1) - 1); i < n && ctx.Err() == nil; i = int(next.Add(1) - 1) {
				results[i] = run(i)
				telling.Lock()
				if done++; progress != nil {
					progress(done, n)
				}
				telling.Unlock()
			}
		})
	}
	workers.Wait()
	return results, ctx.Err()
}

// randFor is the random source of one run, the same whichever processor runs
// it and in whatever order.
func randFor(seed uint64, run int) *rand.Rand { return rand.New(rand.NewPCG(seed, uint64(run))) }

// running is a mean and its standard error, of values one at a time.
type running struct{ n, sum, squares float64 }

func (s *running) add(v float64) {
	s.n++
	s.sum += v
	s.squares += v * v
}

func (s *running) mean() float64 { return s.sum / s.n }

// error is the Monte-Carlo standard error of the mean.
func (s *running) error() float64 {
	return math.Sqrt(max(s.squares/s.n-s.mean()*s.mean(), 0) / s.n)
}
