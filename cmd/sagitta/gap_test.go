package main

import (
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// rider is a head that runs a program: where its focus is, and what was wrong.
type rider struct {
	*site
	name string
	head head
	// base is the height of the focus over the datum at Z0, counted from the stock
	// away, raised what the lens is raised by hand; set tells that the base is known.
	base, raised float64
	set          bool
	// start tells that the head was brought to a place to start from, which is first.
	start bool
	first at
	// measured, where not nil, takes by how much the tip is too low at worst, surely
	// and perhaps, instead of failing.
	measured *[2]float64
	// points are the places where the focus is set, and heights where.
	points  [][2]float64
	heights []float64
	// lax: how far it is raised is not looked at. Burns are at several Z, or travels
	// before a Z is said are reckoned as at Z0, and it stands higher.
	lax bool
	// axis tells that the lens is looked at besides the tip.
	axis bool
	cut  cut
	// needed is the most, as far as samples tell, that the focus would have been
	// too low since the lens was raised, had it not been.
	needed float64
}

// slack in mm is what is not certain: half a last decimal of Z, and of places
// along slopes.
func (r *rider) slack() float64 { return 0.002 + 0.002*r.ground.on.MaxSlope() }

// loose in mm is how much more than what is needed may be asked for: the radius of a
// head is not known better, and samples lie apart.
func (r *rider) loose() float64 { return 0.03 + 0.2*r.ground.on.MaxSlope() }

func (s *site) rider(name string, lens int) *rider {
	o := &s.lenses[lens]
	return &rider{site: s, name: name, axis: s.level, lax: !s.level, head: head{s.known, s.radius, s.gap, o.standoff, o.near, s.defocus}}
}

// focusAt sets the focus at a height while Z stands somewhere.
func (r *rider) focusAt(height, z float64) { r.base, r.set = height-r.sigma()*z, true }

// goes samples the gap on the ways of a leg.
func (r *rider) goes(l *leg) {
	rises := r.frees(l)
	if !r.set {
		return
	}
	if rises {
		l = &leg{line: l.line, way: l.way[len(l.way)-1:]}
	}
	for k := range l.way {
		a, b := l.way[max(k-1, 0)], l.way[k]
		if !b.kx || !b.ky || !b.kz || !a.kx || !a.ky || !a.kz {
			continue
		}
		n := math.Ceil(max(math.Hypot(b.x-a.x, b.y-a.y)/0.4, math.Abs(b.z-a.z)/2)) + 1
		for i := 0.0; i <= n; i++ {
			s := i / n
			if l.burn && s == 0 {
				continue // where it comes from was looked at
			}
			r.stands(l, a.x+(b.x-a.x)*s, a.y+(b.y-a.y)*s, a.z+(b.z-a.z)*s)
			r.asks(l, a.x+(b.x-a.x)*s, a.y+(b.y-a.y)*s, r.sigma()*min(r.sigma()*a.z, r.sigma()*b.z))
		}
	}
}

// stands samples the gap at a place.
func (r *rider) stands(l *leg, x, y, z float64) {
	focus := r.base + r.sigma()*z
	if r.measured != nil {
		least, most := r.ground.short(&r.head, r.cut.pieces, x, y, focus+r.raised, false)
		r.measured[0], r.measured[1] = max(r.measured[0], least), max(r.measured[1], most)
		return
	}
	// Where the focus is set it is best focus, whatever defocus is wanted.
	setting := false
	if r.start && x == r.first.x && y == r.first.y {
		setting = true // where the operator was told to bring it, clear of all
	}
	for k, p := range r.points {
		setting = setting || math.Hypot(x-p[0], y-p[1]) < 0.02 && focus+r.raised > r.heights[k]-r.slack()
	}
	least, _ := r.ground.short(&r.head, r.cut.pieces, x, y, focus+r.raised, r.axis && !l.burn && !setting)
	if least > r.slack() {
		r.fail("%s:%d: %.4f mm too low at X%.3f Y%.3f Z%.3f, the focus at %.4f mm\n%s", r.name, l.line, least, x, y, z, focus+r.raised, numbered(r.read(r.name)))
	}
}

// asks takes how far the lens must be raised at a place of a leg, which counts as at
// its lowest all along.
func (r *rider) asks(l *leg, x, y, z float64) {
	_, most := r.ground.short(&r.head, r.cut.pieces, x, y, r.base+r.sigma()*z, r.axis && !l.burn)
	r.needed = max(r.needed, most)
}

func numbered(text string) string {
	var b strings.Builder
	for k, l := range strings.Split(text, "\n") {
		b.WriteString(strconv.Itoa(k+1) + "\t" + l + "\n")
	}
	return b.String()
}

var raise = regexp.MustCompile(`raise the lens (?:by|to) ([0-9.]+) mm`)

// waits does what the operator is told at a wait.
func (r *rider) waits(l *leg) {
	here := l.way[0]
	switch m := raise.FindStringSubmatch(l.said); {
	case m != nil:
		r.lowers(l)
		r.raised, _ = strconv.ParseFloat(m[1], 64)
		r.needed = math.Inf(-1)
	case strings.HasPrefix(l.said, "bring the lens back"):
		r.lowers(l)
		r.raised = 0
		r.goes(&leg{line: l.line, way: []at{here}})
	}
}

// lowers looks whether the lens was raised for nothing.
func (r *rider) lowers(l *leg) {
	if r.raised > 0 && !r.lax && !math.IsInf(r.needed, 0) && r.raised > r.needed+0.01+r.loose() {
		r.fail("%s:%d: the lens was raised by %.3f mm where %.3f would have done\n%s", r.name, l.line, r.raised, r.needed, numbered(r.read(r.name)))
	}
}

// holds follows a program from a place on.
func (r *rider) holds(from at) {
	legs := walk(r.read(r.name), from, r.dialect)
	for k := range legs {
		if legs[k].wait {
			r.waits(&legs[k])
		} else {
			r.goes(&legs[k])
		}
	}
	if len(legs) > 0 {
		r.lowers(&legs[len(legs)-1])
	}
}

var setAt = regexp.MustCompile(`let\s+the\s+controller\s+read\s+Z([-0-9.]+)`)

var startsAt = regexp.MustCompile(`counts\s+on\s+starting\s+from ([^:(]*)`)

// place reads a place as it is said.
func (s *site) place(text string) (p at) {
	for _, w := range strings.Fields(text) {
		v, err := strconv.ParseFloat(w[1:], 64)
		if err != nil {
			s.fail("%s: %v", w, err)
		}
		switch w[0] {
		case 'X':
			p.x, p.kx = v, true
		case 'Y':
			p.y, p.ky = v, true
		case 'Z':
			p.z, p.kz = v, true
		}
	}
	return p
}

// split runs a split and follows its programs.
func (s *site) split(dir string, lenses int, more ...string) (made bool) {
	args := append(s.with("split"), more...)
	for k := range lenses {
		args = append(args, "-l", s.lenses[k].name+".toml")
	}
	if status := s.run(append(args, "-o", dir)...); status != 0 {
		s.refused(status, lenses)
		return false
	}
	s.splitHolds(dir)
	return true
}

// drawSplit draws how a job is split.
func (s *site) drawSplit() (way string, more []string) {
	t := s.t
	if rapid.Bool().Draw(t, "seams") {
		more = append(more, "--lead", pick(t, "lead", "0", "2", "8"), "--overlap", pick(t, "overlap", "0", "0.4"))
	}
	ways := []string{"plain", "plain", "pause", "rehearsal"}
	if !s.hand {
		ways = append(ways, "set-z", "pause set-z", "follow")
	}
	way = pick(t, "way", ways...)
	for _, w := range strings.Fields(way) {
		if w != "plain" {
			more = append(more, "--"+w)
		}
	}
	return way, more
}

// splitHolds follows the programs of a folder.
func (s *site) splitHolds(dir string) {
	list, sheet := s.zones(dir), s.read(filepath.Join(dir, "sheet.txt"))
	slices.SortFunc(list.Zones, func(a, b zoneOf) int { return a.Order - b.Order }) // as they are burned
	var pieces []piece
	z := s.burnZ
	var starts at
	if m := startsAt.FindStringSubmatch(sheet); m != nil {
		starts = s.place(m[1])
	}
	if m := setAt.FindStringSubmatch(sheet); m != nil {
		z, _ = strconv.ParseFloat(m[1], 64)
	}
	for k := range list.Zones {
		n := &list.Zones[k]
		if n.Stop > 0 {
			continue
		}
		r := s.rider(filepath.Join(dir, n.Program), s.lensOf(n.Lens))
		r.cut.pieces = pieces
		r.lax = r.lax || s.freed > 0 // pieces count from the beginning there
		// The head stands where the focus was set, unless the sheet says otherwise.
		from := starts
		if list.SetZ {
			r.focusAt(0, s.burnZ)
		} else {
			r.focusAt(n.Focus, z)
			r.points, r.heights = [][2]float64{n.FocusPoint}, []float64{n.Focus}
			if r.start, r.first = from.kx, from; !from.kx {
				from.x, from.y, from.kx, from.ky = n.FocusPoint[0], n.FocusPoint[1], true, true
			}
		}
		if !from.kz {
			from.z, from.kz = z, true
			r.lax = r.lax || s.sigma()*z > 0
		}
		r.holds(from)
		r.rests()
		if pieces = r.cut.pieces; s.freed == 0 {
			s.lower(r, from, append(s.with("verify", dir), "--against", "job.gcode"))
		}
	}
	if list.Zones[0].Stop > 0 {
		s.pausedHolds(dir, &list)
	}
}

func (s *site) lensOf(name string) int {
	for k := range s.lenses {
		if s.lenses[k].name == name {
			return k
		}
	}
	s.fail("no lens %s", name)
	return 0
}

var lensChange = regexp.MustCompile(`raise the focus to ([-0-9.]+) mm`)

// pausedHolds follows a program with stops.
func (s *site) pausedHolds(dir string, list *zones) {
	r := s.rider(filepath.Join(dir, list.Zones[0].Program), s.lensOf(list.Zones[0].Lens))
	// Where the lens changes it is raised, and then raised again by as much.
	r.lax = r.lax || s.sigma()*s.burnZ > 0 || len(s.lenses) > 1 || s.freed > 0
	if list.SetZ {
		r.focusAt(0, s.burnZ)
	}
	for i := range list.Zones {
		r.points, r.heights = append(r.points, list.Zones[i].FocusPoint), append(r.heights, list.Zones[i].Focus)
	}
	legs := walk(r.read(r.name), at{kz: true}, r.dialect)
	for k := range legs {
		l := &legs[k]
		if !l.wait {
			r.goes(l)
			continue
		}
		r.waits(l)
		if m := lensChange.FindStringSubmatch(l.said); m != nil {
			r.lowers(l)
			height, _ := strconv.ParseFloat(m[1], 64)
			r.raised = 0
			r.focusAt(height, l.way[0].z)
		}
		for i := range list.Zones {
			n, here := &list.Zones[i], l.way[0]
			if l.line == n.Stop && l.line != n.FocusStop {
				r.lowers(l)
				r.raised, r.head = 0, s.rider("", s.lensOf(n.Lens)).head
				r.goes(&leg{line: l.line, way: []at{here}})
			}
			if l.line == n.FocusStop {
				r.lowers(l)
				if math.Hypot(here.x-n.FocusPoint[0], here.y-n.FocusPoint[1]) > 0.02 {
					s.fail("%s:%d: waits at X%.3f Y%.3f", r.name, l.line, here.x, here.y)
				}
				r.raised = 0
				if list.SetZ {
					r.focusAt(0, s.burnZ)
				} else {
					r.focusAt(n.Focus, here.z)
				}
				r.goes(&leg{line: l.line, way: []at{here}})
			}
		}
	}
}

// follow runs follow, and follows what it has written.
func (s *site) follow(out string) bool {
	if status := s.run(append(s.with("follow"), "-l", "lens0.toml", "-o", out)...); status != 0 {
		s.refused(status, 1)
		return false
	}
	s.followHolds(out, 0, s.defocus)
	return true
}

func (s *site) followHolds(out string, lens int, defocus float64) {
	r := s.rider(out, lens)
	// What a program goes down itself on travels is as it was meant.
	r.axis = s.level && s.high
	r.focusAt(0, s.burnZ)
	if s.hand {
		r.focusAt(defocus, s.burnZ)
	}
	r.holds(at{kz: true})
	args := append(s.with("verify", out), "--against", "job.gcode", "-l", s.lenses[lens].name+".toml")
	s.lower(r, at{kz: true}, args)
}

// zWord is the Z of a travel.
var zWord = regexp.MustCompile(`(?m)^(G0[^;(\n]*Z)(-?[0-9.]+)`)

// lower lowers one Z of a program that holds, as by hand, and has it verified: it must be
// called too close where the gap is too small, and not where it is not.
func (s *site) lower(r *rider, from at, verify []string) {
	text := s.read(r.name)
	found := zWord.FindAllStringSubmatchIndex(text, -1)
	if !s.simple || !s.known || len(found) == 0 || strings.HasPrefix(text, "(rehearsal") {
		return
	}
	f := found[rapid.IntRange(0, len(found)-1).Draw(s.t, "which")]
	z, _ := strconv.ParseFloat(text[f[4]:f[5]], 64)
	z -= s.sigma() * pick(s.t, "lower", 0.1, 1.0, 6)
	s.write(r.name, text[:f[4]]+strconv.FormatFloat(z, 'f', 3, 64)+text[f[5]:])
	r.measured = &[2]float64{math.Inf(-1), math.Inf(-1)}
	r.raised, r.cut = 0, cut{}
	for _, l := range walk(s.read(r.name), from, r.dialect) {
		if l.wait {
			r.waits(&l)
		} else {
			r.goes(&l)
		}
	}
	status := s.run(verify...)
	const close = "tip of the head too close"
	switch said := strings.Contains(s.said, close); {
	case r.measured[0] > 0.02 && (status != 1 || !said):
		s.fail("%s: lowered to Z%g, %.3f mm too low, status %d\n%s", r.name, z, r.measured[0], status, numbered(s.read(r.name)))
	case r.measured[1] < -0.02 && said:
		s.fail("%s: lowered to Z%g, %.3f mm are left\n%s", r.name, z, -r.measured[1], numbered(s.read(r.name)))
	case r.measured[0] > 0.02:
		lowered++
	}
	s.write(r.name, text)
}

// lowered counts the programs that were lowered too far.
var lowered int

var lineOf = regexp.MustCompile(`job\.gcode:\d+|line \d+`)

// refused holds a refusal to what it must say, and to its ground.
func (s *site) refused(status, lenses int) {
	if status != 1 && (status != 3 || !strings.Contains(s.said, "split cannot ") || !lineOf.MatchString(s.said)) {
		s.fail("status %d", status)
	}
}

// advised runs advise, and what it prints, and reports whether it found a way.
func (s *site) advised() bool {
	args := s.with("advise")
	for k := range s.lenses {
		args = append(args, "-l", s.lenses[k].name+".toml")
	}
	status := s.run(args...)
	if status != 0 {
		s.refused(status, len(s.lenses))
		return false
	}
	advice := s.said
	for _, line := range strings.Split(advice, "\n") {
		words := strings.Fields(line)
		if !strings.HasPrefix(line, "  sagitta ") {
			continue
		}
		status := s.run(words[1:]...)
		if s.said += advice; status != 0 {
			s.fail("status %d", status)
		}
		out := words[len(words)-1]
		switch words[1] {
		case "follow":
			lens := s.lensOf(strings.TrimSuffix(words[indexOf(words, "-l")+1], ".toml"))
			s.followHolds(out, lens, s.defocus)
		case "split":
			s.splitHolds(out)
		}
		return true
	}
	s.fail("no command is printed")
	return false
}

func indexOf(list []string, what string) int {
	for k := range list {
		if list[k] == what {
			return k
		}
	}
	return -1
}

// Every motion of every program that any command writes keeps head and lens off
// the stock and the boxes: drawn jobs over drawn surfaces, sampled by code that
// shares nothing with the rooms that plan and prove.
func TestEveryGap(t *testing.T) {
	counts := map[string]int{}
	atSites(t, func(rt *rapid.T, s *site) {
		count := func(what string, made bool) {
			if !made {
				what += " refused"
			}
			counts[what]++
		}
		switch pick(rt, "command", "follow", "split", "split", "split", "advise", "recheck") {
		case "follow":
			count(s.moves+map[bool]string{true: " freed"}[s.freed > 0]+" follow", s.follow("followed.gcode"))
		case "split":
			way, more := s.drawSplit()
			n := rapid.IntRange(1, len(s.lenses)).Draw(rt, "with")
			count(s.moves+map[bool]string{true: " freed"}[s.freed > 0]+" "+way, s.split("made", n, more...))
		case "recheck":
			count(s.moves+" recheck", s.recheck("touch.gcode"))
		case "advise":
			count("advise", s.advised())
		}
	})
	counts["lowered"], counts["pieces"] = lowered, freed
	t.Log(counts)
}
