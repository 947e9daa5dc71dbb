package surface

import (
	"fmt"
	"math/rand/v2"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// scipyPython is Debian's, which python3-scipy belongs to.
const scipyPython = "/usr/bin/python3"

// scipyScript times SciPy's RegularGridInterpolator on as many places of a
// grid as large as BenchmarkAt's, all in one call, which is its fastest.
const scipyScript = `
import sys, time
import numpy as np
from scipy.interpolate import RegularGridInterpolator as R
r = np.random.default_rng(1)
x = np.arange(300.0)
z = r.normal(size=(300, 300))
f = R((x, x), z, method=sys.argv[1])
n = int(sys.argv[2])
p = r.uniform(0, 299, size=(n, 2))
f(p[:100])
t = time.perf_counter()
f(p)
print((time.perf_counter() - t) / n * 1e9)
`

// BenchmarkAtBesideSciPy times At at places all over a grid of 300 x 300,
// and SciPy on the same machine in the same run where Debian's python3-scipy
// is there. Its cubic method sets up a spline in each call, and so is asked
// for many places at once.
func BenchmarkAtBesideSciPy(b *testing.B) {
	for _, m := range []struct{ ours, theirs string }{{"bilinear", "linear"}, {"bicubic", "cubic"}} {
		b.Run(m.ours, func(b *testing.B) {
			p := mustPlace(b, bumpy(b, 300), Placement{Method: m.ours})
			var xy [1024][2]float64
			r := rand.New(rand.NewPCG(3, 4))
			for k := range xy {
				xy[k] = [2]float64{299 * r.Float64(), 299 * r.Float64()}
			}
			sum, k := 0.0, 0
			for b.Loop() {
				h, _ := p.At(xy[k&1023][0], xy[k&1023][1])
				sum += h
				k++
			}
			sink = sum
			n := "200000"
			if m.theirs == "cubic" {
				n = "2000"
			}
			out, err := exec.Command(scipyPython, "-c", scipyScript, m.theirs, n).Output()
			if err != nil {
				b.Logf("SciPy is not there, or does not know the method: %v", err)
				return
			}
			ns, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
			if err != nil {
				b.Fatal(fmt.Errorf("SciPy printed %q", out))
			}
			b.ReportMetric(ns, "scipy-ns/op")
		})
	}
}
