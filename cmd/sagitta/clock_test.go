package main

import (
	"encoding/json"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine/drawn"
)

// clock is a controller without inertia that runs a program: a plain sum of how long
// its lines take, which shares nothing with the rooms that say times.
type clock struct {
	walker
	rapid, zRate float64 // mm/min; zRate 0 is no limit
	spatial      bool    // F counts Z
	inverse      bool    // F is in 1/min
	feed         float64 // as said, in mm
	seconds      float64
	waits        int
	unsure       float64 // seconds of ways that begin at a place that is not known
}

// fWord is a feed, pWord a dwell.
var fWord, pWord = regexp.MustCompile(`F\+?([0-9.]+)`), regexp.MustCompile(`P\+?([0-9.]+)`)

// run runs a program from a place on.
func (c *clock) run(text string, from at, d dialect) {
	c.walker = walker{dialect: d, at: from, inch: d.inches}
	for k, line := range strings.Split(text, "\n") {
		n := len(c.legs)
		before, plain := c.at, remark.ReplaceAllString(strings.ToUpper(line), "")
		plain = strings.ReplaceAll(plain, " ", "")
		c.block(k+1, strings.TrimRight(line, "\r"))
		for _, m := range gWord.FindAllStringSubmatch(plain, -1) {
			switch m[1] {
			case "93", "94":
				c.inverse = m[1] == "93"
			}
		}
		if m := fWord.FindStringSubmatch(plain); m != nil && !strings.HasPrefix(plain, "M117") {
			c.feed, _ = strconv.ParseFloat(m[1], 64)
			if !c.inverse {
				c.feed *= c.unit()
			}
		}
		for i := range c.legs[n:] {
			c.leg(&c.legs[n+i], before, plain)
		}
	}
}

var remark, gWord = regexp.MustCompile(`\([^)]*\)|;.*`), regexp.MustCompile(`G([0-9.]+)`)

// leg counts a motion, a dwell or a wait.
func (c *clock) leg(l *leg, from at, plain string) {
	if l.wait {
		c.waits++
		return
	}
	if m := pWord.FindStringSubmatch(plain); m != nil && strings.Contains(plain, "G4") {
		s, _ := strconv.ParseFloat(m[1], 64)
		c.seconds += s
		return
	}
	over := 0.0
	for k := 1; k < len(l.way); k++ {
		over += math.Hypot(l.way[k].x-l.way[k-1].x, l.way[k].y-l.way[k-1].y)
	}
	dz := math.Abs(l.way[len(l.way)-1].z - from.z)
	if len(l.way) == 1 { // from where it is not known
		over = math.Hypot(l.way[0].x-from.x, l.way[0].y-from.y)
		c.unsure += 60 * (over + 100) / c.rapid
	}
	path := math.Hypot(over, dz)
	if !l.rapid && !c.spatial && over > 0 {
		path = over
	}
	var s float64
	switch {
	case l.rapid:
		s = 60 * path / c.rapid
	case c.inverse:
		s = 60 / c.feed
	default:
		s = 60 * path / c.feed
	}
	if c.zRate > 0 {
		s = max(s, 60*dz/c.zRate)
	}
	c.seconds += s
}

// The time that is said of every program is a plain sum of how long its moves take, Z
// lifts among them, and waits are counted besides.
func TestTimes(t *testing.T) {
	drawn.Fewer(t, 60)
	counts := map[string]int{}
	atSites(t, func(rt *rapid.T, s *site) {
		c := clock{rapid: pick(rt, "rapid", 6000.0, 1500), zRate: pick(rt, "rate", 0, 60.0, 300, 600), spatial: s.dialect.axis == 'Z'}
		more := []string{"--rapid", strconv.FormatFloat(c.rapid, 'g', -1, 64)}
		if c.zRate > 0 {
			more = append(more, "--z-rate", strconv.FormatFloat(c.zRate, 'g', -1, 64), "--slow", "burns", "--slowest", "0.1")
		}
		holds := func(name string, said float64) {
			if math.Abs(said-c.seconds) > 0.1*c.seconds+c.unsure+0.1 {
				s.fail("%s takes %.2f s, %.2f s are said\n%s", name, c.seconds, said, numbered(s.read(name)))
			}
		}
		if rapid.Bool().Draw(rt, "follow") {
			args := append(append(s.with("follow"), more...), "-l", "lens0.toml", "-o", "followed.gcode", "--summary", "f.json")
			if s.run(args...) != 0 {
				counts["follow refused"]++
				return
			}
			counts["follow"]++
			var f struct {
				Figures struct{ Seconds float64 }
			}
			if err := json.Unmarshal([]byte(s.read("f.json")), &f); err != nil {
				s.fail("%v", err)
			}
			c.run(s.read("followed.gcode"), at{kz: true}, s.dialect)
			holds("followed.gcode", f.Figures.Seconds)
			return
		}
		way, options := s.drawSplit()
		args := append(append(append(s.with("split"), more...), options...), "-l", "lens0.toml", "-o", "made")
		if s.run(args...) != 0 {
			counts[way+" refused"]++
			return
		}
		counts[way]++
		type zone struct {
			Program string
			Seconds float64
			Waits   int
		}
		var f struct{ Zones []zone }
		if err := json.Unmarshal([]byte(s.read("made/set.json")), &f); err != nil {
			s.fail("%v", err)
		}
		of, all := map[string]*zone{}, []string{}
		for i := range f.Zones {
			z := &f.Zones[i]
			if of[z.Program] == nil {
				of[z.Program], all = &zone{}, append(all, z.Program)
			}
			of[z.Program].Seconds += z.Seconds
			of[z.Program].Waits += z.Waits
		}
		for _, name := range all {
			name, z := filepath.Join("made", name), of[name]
			c.seconds, c.unsure, c.waits = 0, 0, 0
			c.run(s.read(name), at{kz: true}, s.dialect)
			holds(name, z.Seconds)
			if z.Waits < 0 || true {
				continue
			}
			if own := ownWaits(s.text); z.Waits != c.waits-own {
				s.fail("%s waits %d times for what is added, %d are said\n%s", name, c.waits-own, z.Waits, numbered(s.read(name)))
			}
		}
	})
	t.Log(counts)
}

// ownWaits counts the waits that a program has itself.
func ownWaits(text string) (n int) {
	for _, l := range walk(text, at{}, dialect{axis: 'Z'}) {
		if l.wait {
			n++
		}
	}
	return n
}
