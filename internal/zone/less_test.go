package zone_test

import (
	"errors"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/zone"
)

// lessOf tells by how much the depth of any lens is less for drawn errors.
func lessOf(opt *zone.Options) func(part float64) float64 {
	d := opt.Lenses[0].Depth
	return func(part float64) float64 { return part * min(d.Near, d.Far) }
}

// Over heights that are less sure in places a job is divided too, where stock is no steeper
// than stock is, and the other package proves it.
func TestSplitsWhereHeightsAreLessSure(t *testing.T) {
	split, refused := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		job, opt := drawJob(rt)
		sheet := surfacetest.Draw(rt, size, []float64{5, 11, 20, 33}, []float64{0.2, 0.6, 1.2}).Doubt(rt, 0, 0, 0, 0.1, 0.3, 0.6)
		opt.Surface, opt.Head = sheet.Placed(rt).Narrowed(lessOf(&opt)), nil
		dir := folder(t)
		defer os.RemoveAll(dir)
		p, err := zone.Survey(strings.NewReader(job.Text), opt)
		if err == nil {
			err = p.Split(strings.NewReader(job.Text), dir)
		}
		var unmet *zone.UnmetError
		if errors.As(err, &unmet) && len(unmet.Failures) > 0 && opt.Surface.MaxSlope() <= steep && strings.Contains(unmet.Failures[0].What, "no zone serves") {
			rt.Fatalf("%v\n%s", err, job.Text)
		}
		if err != nil { // as other tests have it
			refused++
			return
		}
		if res := proveSet(rt, dir, job.Text, opt); !res.Holds() {
			rt.Fatalf("does not hold:\n%s%s", complaints(res), job.Text)
		}
		if len(p.Zones) > 1 {
			split++
		}
	})
	t.Logf("%d jobs divided, %d refused", split, refused)
}
