package set

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// The oracle knows no more of programs than the drawn ones have, and takes nothing
// from the packages under test: it walks a text, notes burns, and says whether a set
// does something else than its original.

// mark is a burn: of a line, a full circle or a dwell.
type mark struct {
	x0, y0, x1, y1 float64
	cx, cy         float64 // of a circle, and which way round
	code           int     // 1 line, 2 and 3 circle, 4 dwell
	z              [2]float64
	power, feed    float64
	seconds        float64
	on             int // M3 or M4
	air            string
	line           int
}

// walked is what a text does.
type walked struct {
	marks []mark
	// travels are the places to which the head goes dark, with Z and the number of
	// marks before.
	travels []spot
	waits   map[int]bool // lines of M0
	// wrong is what no program of these jobs may do, and unsure what the oracle
	// does not know how to read.
	wrong, unsure string
	x, y          float64
	inch, rel     bool
	ended         bool
}

type spot struct {
	x, y, z float64
	before  int
	line    int
	blows   bool
	upright bool // it was there before
}

var (
	oracleComment = regexp.MustCompile(`;.*|\(.*?\)`)
	oracleWord    = regexp.MustCompile(`([A-Z])(-?[0-9.]+)`)
)

// walkText walks a text.
func walkText(text string) *walked {
	w := &walked{waits: map[int]bool{}}
	var z, power, feed float64
	knownX, knownY, lit, said := false, false, 0, false
	motion, percents := -1, 0
	mist, flood, path := false, false, false
	fail := func(line int, what string) {
		if w.wrong == "" {
			w.wrong = fmt.Sprintf("line %d: %s", line, what)
		}
	}
	for n, raw := range strings.Split(text, "\n") {
		line := n + 1
		bare := strings.TrimSpace(oracleComment.ReplaceAllString(raw, ""))
		if bare == "%" {
			if percents++; percents == 2 {
				break
			}
			continue
		}
		if strings.HasPrefix(bare, "$") {
			fail(line, "what is for the controller alone")
			continue
		}
		words := oracleWord.FindAllStringSubmatch(bare, -1)
		if strings.Join(strings.Fields(oracleWord.ReplaceAllString(bare, "")), "") != "" {
			w.unsure = "what is no word"
			return w
		}
		has := map[string]float64{}
		dwell, stop, end := false, 0, false
		for _, m := range words {
			v, err := strconv.ParseFloat(m[2], 64)
			if err != nil || m[1] != "G" && m[1] != "M" && has[m[1]] != 0 {
				w.unsure = "a number"
				return w
			}
			switch m[1] {
			case "G":
				switch v {
				case 0, 1, 2, 3:
					motion = int(v)
				case 4:
					dwell = true
				case 20, 21:
					w.inch = v == 20
				case 90, 91:
					w.rel = v == 91
				case 61, 64:
					path = true
				default:
					w.unsure = "G" + m[2]
					return w
				}
			case "M":
				switch v {
				case 3, 4:
					lit, said = int(v), true
				case 5:
					lit, said = 0, true
				case 0, 1:
					stop = line
					w.waits[line] = w.waits[line] || v == 0
				case 2, 30:
					end = true
				case 7:
					mist = true
				case 8:
					flood = true
				case 9:
					mist, flood = false, false
				default:
					fail(line, "M"+m[2]+" switches something")
				}
			case "T":
				fail(line, "a tool")
			case "F", "S", "X", "Y", "Z", "I", "J", "P":
				has[m[1]] = v
				if v == 0 {
					has[m[1]] = 1e-300 // so that it is there
				}
			default:
				w.unsure = m[1]
				return w
			}
		}
		unit := 1.0
		if w.inch {
			unit = 25.4
		}
		if v, ok := has["S"]; ok {
			power = v
		}
		if v, ok := has["F"]; ok {
			feed = v * unit
		}
		if power < 0 || feed < 0 || (has["P"] != 0) != dwell && !path {
			w.unsure = "a sign or a P"
			return w
		}
		burning := lit > 0 && power > 1e-200
		air := fmt.Sprint(mist, flood)
		x, y, z1, moves := w.x, w.y, z, false
		for letter, to := range map[string]*float64{"X": &x, "Y": &y, "Z": &z1} {
			if v, ok := has[letter]; ok {
				moves = true
				if w.rel {
					*to += v * unit
				} else {
					*to = v * unit
				}
			}
		}
		arc := has["I"] != 0 || has["J"] != 0
		if dwell && (moves || arc) || !dwell && arc && motion != 2 && motion != 3 || moves && motion < 0 {
			w.unsure = "a motion"
			return w
		}
		knownX, knownY = knownX || has["X"] != 0 && !w.rel, knownY || has["Y"] != 0 && !w.rel
		known := knownX && knownY
		m := mark{x0: w.x, y0: w.y, x1: x, y1: y, z: [2]float64{z, z1}, power: power, feed: feed, on: lit, air: air, line: line, code: motion}
		switch {
		case dwell && burning:
			m.code, m.seconds, m.feed = 4, has["P"], 0
		case dwell || !moves && !arc:
			m.code = -1
		case motion == 0 || lit == 0 || !burning:
			if motion == 2 || motion == 3 || motion == 1 && !said {
				w.unsure = "a dark arc, or a feed move before any word of the beam"
				return w
			}
			if still := (known || has["X"] == 0 && has["Y"] == 0) && math.Hypot(math.Hypot(x-w.x, y-w.y), z1-z) < near; burning && !still {
				fail(line, "a travel with the beam on")
			}
			if known {
				w.travels = append(w.travels, spot{x, y, z1, len(w.marks), line, mist || flood, math.Hypot(x-w.x, y-w.y) < near})
			}
			m.code = -1
		case motion != 1:
			m.cx, m.cy = w.x+has["I"]*unit, w.y+has["J"]*unit
			if !arc || math.Hypot(x-w.x, y-w.y) > 1e-9 {
				w.unsure = "no full circle"
				return w
			}
		}
		if m.code > 0 {
			if w.ended {
				fail(line, "a burn behind the end")
			}
			if path {
				fail(line, "a burn under path control")
			}
			if !known {
				w.unsure = "a burn from an unknown place"
				return w
			}
			w.marks = append(w.marks, m)
		}
		w.x, w.y, z = x, y, z1
		if stop > 0 && (lit > 0 || !said) { // no original has one
			fail(line, "a wait before which no word puts the beam off")
		}
		if end {
			w.ended, said = true, true
			lit, w.rel, mist, flood = 0, false, false, false // RS274 3.6.1
		}
	}
	if lit > 0 || !said {
		fail(0, "the end where no word puts the beam off")
	}
	return w
}

// near is what the oracle takes for the same, in mm: less than any change that is
// drawn, more than what is rounded.
const near = 1e-4

// carrier is what tells burns apart that cannot be parts of one, and at, from and to
// where the burn lies on it.
func (m *mark) carrier() (key string, from, to float64) {
	round := func(v float64) float64 { return math.Round(v/near) * near }
	how := fmt.Sprintf("S%.6g M%d %s ", m.power, m.on, m.air)
	switch length := math.Hypot(m.x1-m.x0, m.y1-m.y0); {
	case m.code == 4:
		return how + fmt.Sprintf("dwell %.4f %.4f P%.6f", round(m.x0), round(m.y0), m.seconds), 0, 1
	case m.code > 1:
		return how + fmt.Sprintf("circle %d %.4f %.4f %.4f %.4f", m.code, round(m.x0), round(m.y0), round(m.cx), round(m.cy)), 0, 1
	case length < near:
		return how + fmt.Sprintf("point %.4f %.4f", round(m.x0), round(m.y0)), 0, 1
	default:
		ux, uy := (m.x1-m.x0)/length, (m.y1-m.y0)/length
		return how + fmt.Sprintf("line %.5f %.5f %.4f", ux+0, uy+0, round(ux*m.y0-uy*m.x0)+0), ux*m.x0 + uy*m.y0, ux*m.x1 + uy*m.y1
	}
}

// heights are the highest and lowest of a surface under a burn that rises by slope
// along x, and Z there.
func (m *mark) heights(slope float64) (h [2]float64, z [2]float64) {
	if m.code == 2 || m.code == 3 {
		r := math.Hypot(m.x0-m.cx, m.y0-m.cy)
		return [2]float64{slope * (m.cx - r), slope * (m.cx + r)}, m.z
	}
	return [2]float64{slope * m.x0, slope * m.x1}, m.z
}

// zoneText is what the oracle is told of a zone.
type zoneText struct {
	text      string
	from, to  int // lines
	focus     float64
	depth     float64
	raised    [][2]int
	raisedMM  []float64
	stop      int
	focusStop int
	points    [][2]float64 // where a program with stops has the focus set
	setsZ     bool
	byHand    bool
	rules     []ruleText
}

// ruleText is a rule about burns, by lines of the original.
type ruleText struct {
	from, to       int
	depth, defocus float64
}

// asks is what a burn of the original asks for: how far out of focus it may be, and from where
// that counts.
func (z *zoneText) asks(b *mark) (depth, defocus float64) {
	for _, r := range z.rules {
		if r.from <= b.line && b.line <= r.to {
			return r.depth, r.defocus
		}
	}
	return z.depth, 0
}

// least is how far below a height any burn may have the focus: no travel comes lower.
func (z *zoneText) least() float64 {
	low := -z.depth
	for _, r := range z.rules {
		low = min(low, r.defocus-r.depth)
	}
	return low
}

// wrongSet says what is wrong with a set, "" for nothing that the oracle sees; sure is
// false where it cannot read it.
func wrongSet(original string, zones []zoneText, slope float64) (wrong string, sure bool) {
	o := walkText(original)
	if o.unsure != "" || o.wrong != "" {
		return "", false
	}
	ends := map[string]map[int64]int{}
	count := func(m *mark, by int) {
		key, from, to := m.carrier()
		if ends[key] == nil {
			ends[key] = map[int64]int{}
		}
		ends[key][int64(math.Round(from/near))] += by
		ends[key][int64(math.Round(to/near))] -= by
	}
	for i := range o.marks {
		count(&o.marks[i], 1)
	}
	for k := range zones {
		z := &zones[k]
		w := walkText(z.text)
		if w.unsure != "" {
			return "", false
		}
		if w.wrong != "" {
			wrong = w.wrong
		}
		for _, line := range append([]int{z.stop, z.focusStop}, flat(z.raised)...) {
			if line > 0 && !w.waits[line] {
				wrong = fmt.Sprintf("zone %d: no wait in line %d", k+1, line)
			}
		}
		if w.ended && (math.Hypot(w.x-o.x, w.y-o.y) > 10*near || w.inch != o.inch || w.rel != o.rel) {
			wrong = fmt.Sprintf("zone %d ends elsewhere", k+1)
		}
		var zs []float64 // of the original at the zone's burns
		for i := range w.marks {
			m := &w.marks[i]
			if m.line <= z.from || m.line > z.to {
				continue
			}
			count(m, -1)
			found := z.judge(o, m, slope)
			if found != "" {
				wrong = fmt.Sprintf("zone %d, line %d: %s", k+1, m.line, found)
			}
		}
		for i := range w.marks {
			zs = append(zs, z.originalZ(o, &w.marks[i]))
		}
		for _, p := range w.travels {
			if p.line <= z.from || p.line > z.to {
				continue
			}
			if p.blows { // as none of the originals does
				wrong = fmt.Sprintf("zone %d, line %d: air in a travel", k+1, p.line)
			}
			last := math.Inf(1) // the lower of those before and behind
			if p.before > 0 && w.marks[p.before-1].line > z.from {
				last = zs[p.before-1]
			}
			if p.before < len(zs) && w.marks[p.before].line <= z.to {
				last = min(last, zs[p.before])
			}
			if p.upright && slices.ContainsFunc(z.points, func(at [2]float64) bool { return math.Hypot(p.x-at[0], p.y-at[1]) < 10*near }) {
				last = o.marks[0].z[0] // where the focus is set, that of the first burn counts
			}
			set := z.focus // beyond X0 to X100 the height of the edge counts
			if z.setsZ {
				set = 0
			}
			if gap := set + z.raisedAt(p.line) + p.z - last - (slope*min(max(p.x, 0), 100) + z.least()); gap < -1e-6 && !math.IsInf(last, 0) {
				wrong = fmt.Sprintf("zone %d, line %d: a travel too low by %g", k+1, p.line, -gap)
			}
		}
	}
	for key, at := range ends {
		for t, n := range at {
			if n != 0 {
				wrong = fmt.Sprintf("%s: %+d at %g", key, n, float64(t)*near)
			}
		}
	}
	return wrong, true
}

func flat(pairs [][2]int) (list []int) {
	for _, p := range pairs {
		list = append(list, p[0], p[1])
	}
	return list
}

func (z *zoneText) raisedAt(line int) float64 {
	for k, r := range z.raised {
		if z.byHand && line > r[0] && (line <= r[1] || r[1] == 0) {
			return z.raisedMM[k]
		}
	}
	return 0
}

// of gives the burns of the original that a zone's burn may be part of.
func (m *mark) of(o *walked) (list []*mark) {
	key, from, to := m.carrier()
	for i := range o.marks {
		if k, f, t := o.marks[i].carrier(); k == key && from > f-2*near && to < t+2*near {
			list = append(list, &o.marks[i])
		}
	}
	return list
}

// originalZ is the lowest that the original may program of a burn: from there a travel
// counts as highest.
func (z *zoneText) originalZ(o *walked, m *mark) float64 {
	low := math.Inf(1)
	for _, b := range m.of(o) {
		low = min(low, b.z[0], b.z[1])
	}
	return low
}

// judge says what is wrong with a burn of a zone, whichever of the original's it is.
func (z *zoneText) judge(o *walked, m *mark, slope float64) (wrong string) {
	for _, b := range m.of(o) {
		wrong = ""
		heights, at := m.heights(slope)
		for k := range heights {
			added := at[k] - b.z[0]
			c := added
			if !z.setsZ {
				c += z.focus
			} else if math.Abs(added-z.focus) > 0.0015 {
				wrong = "the focus written is not the list's"
			}
			if depth, defocus := z.asks(b); math.Abs(c-heights[k]-defocus) > depth+1e-6 {
				wrong = fmt.Sprintf("out of focus, %g over %g", c, heights[k])
			}
		}
		if m.code < 4 && math.Abs(m.feed/b.feed-1) > 0.006 {
			wrong = "another feed"
		}
		if wrong == "" {
			return ""
		}
	}
	return wrong
}
