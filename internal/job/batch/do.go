package batch

import (
	"context"
	"sync"
)

// Do does so many jobs, at most side at a time, until ctx is done: those at hand then end,
// and no other begins. do does the job of a number; it is called from several goroutines,
// each job from one.
func Do(ctx context.Context, jobs, side int, do func(k int)) {
	k := -1
	Each(ctx, min(side, jobs), func() (int, bool) {
		k++
		return k, k < jobs
	}, do)
}

// Each does the jobs that next gives, until it gives none, as Do does. A job that it gave
// when ctx was done may not be begun.
func Each[T any](ctx context.Context, side int, next func() (T, bool), do func(T)) {
	given := make(chan T)
	var all sync.WaitGroup
	for range side {
		all.Go(func() {
			for job := range given {
				do(job)
			}
		})
	}
	for ctx.Err() == nil {
		job, is := next()
		if !is {
			break
		}
		select {
		case given <- job:
		case <-ctx.Done():
		}
	}
	close(given)
	all.Wait()
}
