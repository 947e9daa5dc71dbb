package batch

import (
	"context"
	"sync"
)

// Do does so many jobs, at most side at a time, until ctx is done: those at hand then end,
// and no other begins. do does the job of a number; it is called from several goroutines,
// each job from one.
func Do(ctx context.Context, jobs, side int, do func(k int)) {
	next := make(chan int)
	var all sync.WaitGroup
	for range min(side, jobs) {
		all.Go(func() {
			for k := range next {
				do(k)
			}
		})
	}
	for k := range jobs {
		if ctx.Err() != nil {
			break
		}
		select {
		case next <- k:
		case <-ctx.Done():
		}
	}
	close(next)
	all.Wait()
}
