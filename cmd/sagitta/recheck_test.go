package main

import (
	"math"
	"strings"
)

// recheck has touches written, and follows them: the tip of the touch tool, and the head
// above it, over stock that lies as it was measured.
func (s *site) recheck(out string) bool {
	args := []string{"recheck", "job.gcode", "-s", "surface.csv", "-m", "bench.toml", "-o", out, "--places", pick(s.t, "places", "3", "6", "9")}
	if s.boxes {
		args = append(args, "--keep-out", "boxes.csv")
	}
	if s.known {
		args = append(args, "-l", "lens0.toml")
	}
	if s.hand {
		args = append(args, "--by-hand")
	}
	if status := s.run(args...); status != 0 {
		s.refused(status, 1)
		return false
	}
	if s.hand {
		return true
	}
	r := s.rider(out, 0)
	text := s.read(out)
	lines := strings.Split(text, "\n")
	for _, l := range walk(text, at{kz: true}, s.dialect) {
		if l.burn || l.wait {
			s.fail("%s:%d: burns or waits", out, l.line)
		}
		s.touches(r, &l, strings.Contains(lines[l.line-1], "G38.2"))
	}
	return true
}

// touches samples a leg of a program that touches; down tells that it goes down to the
// stock.
func (s *site) touches(r *rider, l *leg, down bool) {
	end := l.way[len(l.way)-1]
	for k := range l.way {
		a, b := l.way[max(k-1, 0)], l.way[k]
		if !down && apart(l.way[0], end) == 0 {
			a, b = end, end // it rises from where the touch has stopped
		}
		if !a.kx || !a.ky || !b.kx || !b.ky || !a.kz || !b.kz {
			continue
		}
		n := math.Ceil(apart(a, b)/0.4) + 1
		for i := 0.0; i <= n; i++ {
			x, y := a.x+(b.x-a.x)*i/n, a.y+(b.y-a.y)*i/n
			tip := min(s.sigma()*a.z, s.sigma()*b.z)
			stock := s.ground.height(x, y)
			focus := tip
			if down {
				focus = max(tip, stock)
			}
			low, _ := s.ground.short(&r.head, nil, x, y, focus, false)
			low = max(low, stock-focus)
			for _, p := range s.ground.boxes {
				if x > p.X0+0.01 && x < p.X1-0.01 && y > p.Y0+0.01 && y < p.Y1-0.01 {
					low = max(low, p.Height-tip)
				}
			}
			if low > r.slack() {
				s.fail("%s:%d: %.4f mm too low at X%.3f Y%.3f\n%s", r.name, l.line, low, x, y, numbered(s.read(r.name)))
			}
		}
	}
}
