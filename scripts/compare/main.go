// Command compare has two builds of sagitta do the same drawn jobs, and counts
// where they differ: exit statuses, refused lines, what is written, peak rate of
// Z, points added and depth spent. What a change of the planning costs, and what
// a change of anything else breaks, is seen at once.
//
//	go run ./scripts/compare -old BINARY -new BINARY [-follow 10000] [-split 1000] [-keep DIR]
//
// A job is drawn from its number, so that the same one can be done again, as long
// as the drawer is the same:
//
//	go run ./scripts/compare -old BINARY -new BINARY -only follow:4711 -keep DIR
//
// DIR gets the files of the first jobs of each class, and the commands.
package main

import (
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
)

func main() {
	var c comparer
	flag.StringVar(&c.bins[0], "old", "", "the `binary` to be held to")
	flag.StringVar(&c.bins[1], "new", "", "the `binary` to be judged")
	follows := flag.Int("follow", 10000, "jobs to follow")
	splits := flag.Int("split", 1000, "jobs to split")
	seed := flag.Int("seed", 1, "draws other jobs")
	all := flag.Bool("all", false, "draw for split what it is known to do wrong, too")
	only := flag.String("only", "", "do one job alone, as `KIND:NUMBER`")
	workers := flag.Int("j", 2, "jobs at a time")
	flag.StringVar(&c.keep, "keep", "", "keep the files of the first jobs of each class in `DIR`")
	flag.Parse()
	if err := c.run(*follows, *splits, *seed, *workers, *all, *only); err != nil {
		fmt.Fprintln(os.Stderr, "compare:", err)
		os.Exit(1)
	}
}

// comparer counts classes of differences.
type comparer struct {
	bins  [2]string
	keep  string
	alone bool // a single job, whose files are kept in any case

	mu      sync.Mutex
	classes map[string][]string // numbers of jobs, by class
	sums    map[string][2]float64
	worst   map[string]extreme
}

type extreme struct {
	part float64
	job  string
}

// mostKept is how many jobs of a class are listed, and kept.
const mostKept = 3

func (c *comparer) run(follows, splits, seed, workers int, all bool, only string) error {
	for i, name := range c.bins {
		abs, err := filepath.Abs(name)
		if err == nil {
			_, err = os.Stat(abs)
		}
		if err != nil {
			return fmt.Errorf("-old and -new want a binary each: %w", err)
		}
		c.bins[i] = abs
	}
	c.classes, c.sums, c.worst = map[string][]string{}, map[string][2]float64{}, map[string]extreme{}
	var jobs []string
	for i := range follows {
		jobs = append(jobs, fmt.Sprintf("follow:%d", seed*1_000_000+i))
	}
	for i := range splits {
		jobs = append(jobs, fmt.Sprintf("split:%d", seed*1_000_000+i))
	}
	if c.alone = only != ""; c.alone {
		jobs = []string{only}
	}
	todo, failed := make(chan string, len(jobs)), make(chan error, workers)
	for _, name := range jobs {
		todo <- name
	}
	close(todo)
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for name := range todo {
				if len(failed) > 0 {
					return
				}
				if err := c.job(name, all); err != nil {
					failed <- fmt.Errorf("%s: %w", name, err)
					return
				}
			}
		})
	}
	wg.Wait()
	close(failed)
	c.print()
	return <-failed
}

// job does one job with both, and judges.
func (c *comparer) job(name string, all bool) error {
	kind, number, _ := strings.Cut(name, ":")
	n, err := strconv.Atoi(number)
	if err != nil || kind != "follow" && kind != "split" {
		return fmt.Errorf("a job is follow:NUMBER or split:NUMBER")
	}
	dir, err := os.MkdirTemp("", "compare-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	j := draw(kind, n, all)
	if err := j.write(dir); err != nil {
		return err
	}
	var done [2]*result
	for i, bin := range c.bins {
		if done[i], err = j.do(dir, bin, i); err != nil {
			return err
		}
	}
	found := judge(j, dir, c.bins, done)
	return c.note(name, dir, found)
}

// note counts what was found, and keeps files of what is new.
func (c *comparer) note(name, dir string, f *findings) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	for figure, v := range f.figures {
		s := c.sums[figure]
		c.sums[figure] = [2]float64{s[0] + v[0], s[1] + v[1]}
		// A hundredth is what no figure is seen at.
		if part := (v[1] + 0.01) / (v[0] + 0.01); part > c.worst[figure].part {
			c.worst[figure] = extreme{part, name}
		}
	}
	for _, class := range f.classes {
		c.classes[class] = append(c.classes[class], name)
		if c.keep == "" || len(c.classes[class]) > mostKept || strings.HasPrefix(class, alike) && !c.alone {
			continue
		}
		to := filepath.Join(c.keep, inNames.Replace(class), inNames.Replace(name))
		if err := os.CopyFS(to, os.DirFS(dir)); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(to, "found.txt"), []byte(strings.Join(f.notes, "\n")+"\n"), 0o666); err != nil {
			return err
		}
	}
	return nil
}

// inNames makes of a class or a job what a file can be called.
var inNames = strings.NewReplacer(" ", "-", "/", "-", ":", "-", ",", "-")

func (c *comparer) print() {
	for _, class := range slices.Sorted(maps.Keys(c.classes)) {
		jobs := c.classes[class]
		fmt.Printf("%6d  %-60s %s\n", len(jobs), class, strings.Join(jobs[:min(len(jobs), mostKept)], " "))
	}
	for _, f := range slices.Sorted(maps.Keys(c.sums)) {
		s, w := c.sums[f], c.worst[f]
		fmt.Printf("%-40s old %.6g, new %.6g: %+.2f %%; worst %+.1f %% in %s\n", f, s[0], s[1], 100*(s[1]/max(s[0], 1e-9)-1), 100*(w.part-1), w.job)
	}
}
