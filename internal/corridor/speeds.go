package corridor

import (
	"math"
)

// measure works out lengths, speeds, times and what slopes may change by, from gate i to
// gate j, which are the first and the last or bound what is slowed evenly.
func (r *rounder) measure(i, j int) {
	gates, n := r.p.gates, len(r.p.gates)
	a := r.limit.Accel[0]
	feed := r.time // at first
	for k := i + 1; k <= j; k++ {
		r.along[k] = stretch(gates, k)
		feed[k] = r.feed(k)
		if gates[k].Burn {
			feed[k] /= r.even[k]
		}
	}
	r.along[0], r.time[0] = 0, 0
	for k := i; k <= j; k++ {
		v := gates[k].Corner
		if k > i {
			v = min(v, feed[k], math.Sqrt(r.speed[k-1]*r.speed[k-1]+2*a*r.along[k]))
		}
		if k < j {
			v = min(v, feed[k+1])
		}
		r.speed[k] = v
	}
	for k := j; k > i; k-- {
		r.speed[k-1] = min(r.speed[k-1], math.Sqrt(r.speed[k]*r.speed[k]+2*a*r.along[k]))
	}
	for k := i + 1; k <= j; k++ {
		if r.along[k] == 0 {
			r.time[k] = 0
			continue
		}
		v, w, l := r.speed[k-1], r.speed[k], r.along[k]
		peak := max(v, w, min(feed[k], math.Sqrt((v*v+w*w)/2+a*l)))
		r.time[k] = (2*peak-v-w)/a + max(0, l-(2*peak*peak-v*v-w*w)/(2*a))/peak
	}
	for k := i; k <= j; k++ {
		if k == i && i > 0 || k == j && j+1 < n {
			continue // where it stands, or turns as it likes
		}
		r.bend[k], r.step[k] = math.Inf(1), math.Inf(1)
		if k == 0 && r.p.from.AnySlope {
			continue
		}
		if k+1 == n && r.whole {
			r.bend[k] = Gentle * r.limit.Rise(gates[k].Turn, r.speed[k])
		}
		if v := r.speed[k]; v > 0 && k+1 < n && r.along[k+1] > 0 && (k == 0 || r.along[k] > 0) {
			r.bend[k] = Gentle * r.limit.Rise(gates[k].Turn, v)
			r.step[k] = r.bend[k]
			if az := r.limit.Accel[2]; az > 0 && k > 0 {
				r.step[k] = min(r.step[k], az*(r.time[k]+r.time[k+1])/2/v)
			}
			if r.p.ends(k) && v <= crawl*max(r.feed(k), r.feed(k+1)) { // then the travel may be slower for its Z
				r.bend[k], r.step[k] = math.Inf(1), math.Inf(1)
			}
		}
	}
}

// feed is the speed that the stretch before gate k is to go at: a travel that may take longer
// for its Z need not.
func (r *rounder) feed(k int) float64 {
	if r.p.gates[k].Burn {
		return r.along[k] / r.p.dt[k]
	}
	return r.along[k] / r.p.gates[k].DT
}
