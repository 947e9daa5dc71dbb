package follow

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
)

// jobText is a job of about size bytes.
func jobText(t testing.TB, j timedJob, size int64) []byte {
	var b bytes.Buffer
	if err := j.write(&b, size); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// wavySheet is as large as the sheet of the jobs, and waves.
func wavySheet(t testing.TB) *surface.Placed {
	t.Helper()
	return grid(t, jobWidth, jobHeight, 6.1, "", func(x, y float64) float64 {
		return 1.5*math.Sin(x/40)*math.Cos(y/31) + 0.2*math.Sin(x/9+y/7)
	})
}

// BenchmarkJobs prints how fast jobs are followed, in memory: a plain line
// may not allocate, and the speed is that of all processors given (-cpu 1,2).
func BenchmarkJobs(b *testing.B) {
	var sheet bytes.Buffer
	if err := writeSheet(&sheet); err != nil {
		b.Fatal(err)
	}
	s, err := file.Read(&sheet, "sheet")
	if err != nil {
		b.Fatal(err)
	}
	p, err := surface.Place(s, surface.Placement{})
	if err != nil {
		b.Fatal(err)
	}
	for _, j := range timedJobs {
		b.Run(j.name, func(b *testing.B) {
			text := jobText(b, j, 8<<20)
			lines := float64(bytes.Count(text, []byte{'\n'}))
			opt := testOptions(p, 1.4995, 1.4995, 0.5)
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Run(bytes.NewReader(text), io.Discard, opt); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/lines, "ns/line")
		})
	}
}

// Longer programs of plain lines take no more memory than short ones.
func TestPlainLinesDoNotAllocate(t *testing.T) {
	p := grid(t, jobWidth, jobHeight, 5, "", circular(4000))
	opt := testOptions(p, 0.5, 0.5, 0.5)
	var allocs [2]float64
	var lines [2]int
	for k, size := range []int64{2 << 20, 12 << 20} {
		text := jobText(t, timedJobs[0], size)
		lines[k] = bytes.Count(text, []byte{'\n'})
		allocs[k] = testing.AllocsPerRun(1, func() {
			if _, err := Run(bytes.NewReader(text), io.Discard, opt); err != nil {
				t.Fatal(err)
			}
		})
	}
	// A batch more or less may be made, as the stages happen to run.
	if per := (allocs[1] - allocs[0]) / float64(lines[1]-lines[0]); per > 1e-3 {
		t.Errorf("%.4f allocations a line: %v for %v lines", per, allocs, lines)
	}
}

// BenchmarkFigures prints, for each job, the figures against the best
// possible ones: peak Z rate over the optimum in the tube narrowed by a tenth
// (at most 1.02), points over the fewest links of the whole tube (at most 2).
func BenchmarkFigures(b *testing.B) {
	for _, c := range jobCases(b) {
		b.Run(c.name, func(b *testing.B) {
			f := measure(b, c, c.links)
			opt := testOptions(c.surface, c.depth, c.depth, 1)
			for b.Loop() {
				mustRun(b, c.text, opt)
			}
			if f.leastPeak > 0 {
				b.ReportMetric(f.peak/f.leastPeak, "peak/least")
			}
			if c.links {
				b.ReportMetric(float64(f.points)/float64(f.links), "points/links")
			}
		})
	}
}

// BenchmarkForcedDefocus prints the greatest defocus under a Z rate over the
// least possible (at most 1.1).
func BenchmarkForcedDefocus(b *testing.B) {
	for _, v := range []float64{0.1, 0.3, 0.8} {
		b.Run(fmt.Sprintf("rate %g mm/s", v), func(b *testing.B) {
			r := rand.New(rand.NewSource(3))
			c := jobCase{surface: grid(b, 300, 100, 7.3, "", bumpy(r)), text: wander(r, 20, 60), depth: 2}
			opt := testOptions(c.surface, c.depth, c.depth, 0.05)
			opt.ZRate, opt.Slow = v, bench.SlowNever
			var out string
			for b.Loop() {
				out, _ = mustRun(b, c.text, opt)
			}
			b.ReportMetric(worstDefocus(b, out, c)/leastDefocus(burnSpan(b, c, 0.5), v), "defocus/least")
		})
	}
}
