package follow

import (
	"bytes"
	"io"
	"math"
	"testing"

	"sagitta/scripts/speed/jobs"
)

// Heights that are only bounded where the string does not touch must give the
// string that all heights give: as calm, and through the same places.
func TestRefinedIsExact(t *testing.T) {
	p := wavySheet(t)
	for _, job := range jobs.All[2:] {
		text := jobText(t, job, 1<<20)
		for _, depth := range []float64{0.5, 1.5} {
			opt := testOptions(p, depth, depth, 0.5)
			opt.DecimalsMM = 6 // a rounded Z asks more of short lines than the string does
			usual, err := Run(bytes.NewReader(text), io.Discard, opt)
			if err != nil {
				t.Fatal(err)
			}
			opt.Window = 1 << 20 // where a window ends depends on how many gates there are
			sum, err := Run(bytes.NewReader(text), io.Discard, opt)
			if err != nil {
				t.Fatal(err)
			}
			opt.exact = true
			want, err := Run(bytes.NewReader(text), io.Discard, opt)
			if err != nil {
				t.Fatal(err)
			}
			if want.PeakRate == 0 || want.ZTravel == 0 {
				t.Fatalf("%s: nothing moves: %+v", job.Name, want)
			}
			if usual.PeakRate > 1.005*want.PeakRate || usual.ZTravel > 1.005*want.ZTravel {
				t.Errorf("%s, depth %g, window by window: peak %.4g travel %.6g, at once %.4g %.6g", job.Name, depth,
					usual.PeakRate, usual.ZTravel, want.PeakRate, want.ZTravel)
			}
			if sum.PeakRate > 1.00002*want.PeakRate || sum.ZTravel > 1.00002*want.ZTravel || sum.Points > want.Points*11/10+1 {
				t.Errorf("%s, depth %g: peak %.4g travel %.6g points %d, with all heights %.4g %.6g %d", job.Name, depth,
					sum.PeakRate, sum.ZTravel, sum.Points, want.PeakRate, want.ZTravel, want.Points)
			}
			if sum.Burns != want.Burns || math.Abs(sum.BurnLength-want.BurnLength) > 1e-6*want.BurnLength || sum.Low != want.Low || sum.High != want.High {
				t.Errorf("%s: burns %d %g from %g to %g, want %d %g from %g to %g", job.Name, sum.Burns, sum.BurnLength, sum.Low, sum.High,
					want.Burns, want.BurnLength, want.Low, want.High)
			}
		}
	}
}
