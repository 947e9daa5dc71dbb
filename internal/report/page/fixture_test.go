package page_test

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"sagitta/internal/report/page"
	"sagitta/internal/report/trace"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// job is a job of rows over a bowed sheet, drawn for tests: each row a burn, and a travel
// to the next, in parts as a keeper of a trace makes them.
type job struct {
	placed *surface.Placed
	trace  *trace.Trace
	lines  map[int]string
}

// bow is the height of the sheet.
func bow(x, y float64) float64 { return 1.2*math.Sin(math.Pi*x/100) - 0.4*math.Cos(math.Pi*y/60) }

// drawn makes the job with so many rows, of a usable depth on either side.
func drawn(t surfacetest.T, rows int, depth float64) *job {
	var xs, ys []float64
	for v := 0.0; v <= 100; v += 5 {
		xs = append(xs, v)
	}
	for v := 0.0; v <= 60; v += 5 {
		ys = append(ys, v)
	}
	j := &job{placed: surfacetest.Of(t, "", xs, ys, bow), lines: map[int]string{}}
	tr := &trace.Trace{
		Programs: []trace.Program{{Name: "plate.gcode", Lens: "short", Near: depth, Far: depth, Lines: 4 + 2*rows}},
		Share:    trace.Share{MM: make([]float64, 40)}, Before: &trace.Share{MM: make([]float64, 40)},
	}
	now, feed := 0.0, 1500.0
	at := orb.Point{0, 0}
	part := func(line int, to orb.Point, burns bool) {
		h0, _ := j.placed.At(at[0], at[1])
		h1, _ := j.placed.At(to[0], to[1])
		c0, c1 := 0.8*h0, 0.8*h1
		way := math.Hypot(to[0]-at[0], to[1]-at[1])
		s := trace.Stretch{Line: line, LastLine: line, OriginalLine: line - 1, At: now, Until: now + way/feed*60, Burns: burns, Travels: !burns, Near: depth, Far: depth,
			C: trace.Range{Lo: min(c0, c1), Hi: max(c0, c1)}, Height: trace.Range{Lo: min(h0, h1), Hi: max(h0, h1)},
			Defocus: trace.Range{Lo: min(c0-h0, c1-h1), Hi: max(c0-h0, c1-h1)}, Slowed: 1, From: at, To: to, WorstAt: at, WorstLine: line, Text: j.lines[line]}
		if burns {
			s.BurnMM = way
			s.ZSpeed = math.Abs(c1-c0) / (s.Until - s.At)
			s.ZStep, s.ZStepAt = s.ZSpeed/2, now
			if s.ZStep > tr.ZStep.MMS {
				tr.ZStep = trace.ZStep{MMS: s.ZStep, Line: line, At: at, Seconds: now}
			}
			if line == 8 {
				s.Slowed = 0.62
			}
			worst := max(-s.Defocus.Lo, s.Defocus.Hi)
			if len(tr.Worst) < 10 && worst > 0.15 {
				tr.Worst = append(tr.Worst, trace.Place{Line: line, At: at, Defocus: c0 - h0, Depth: depth, Height: h0, Seconds: now, Text: j.lines[line]})
			}
		}
		now = s.Until
		tr.Stretches = append(tr.Stretches, s)
		at = to
	}
	for r := range rows {
		y := 5 + 50*float64(r)/float64(max(rows-1, 1))
		line := 4 + 2*r
		j.lines[line], j.lines[line+1] = fmt.Sprintf("G0 X5 Y%.3f", y), "G1 X95 S400"
		part(line, orb.Point{5, y}, false)
		for k := range 9 {
			part(line+1, orb.Point{15 + 10*float64(k), y}, true)
		}
	}
	tr.Seconds, tr.SecondsBefore, tr.Inertia = now, now-2, true
	tr.Waits, tr.Waiting = []trace.Wait{{Line: 4, At: orb.Point{5, 5}, Stop: true, Remark: "see that the clamp is off"}}, 1
	tr.Bounds = orb.Bound{Min: orb.Point{5, 5}, Max: orb.Point{95, 55}}
	j.trace = tr
	return j
}

// page is a page of the job that holds.
func (j *job) page() *page.Page {
	sheet := "BENCH SHEET OF plate.gcode" + strings.Repeat(" ", 41) + "page 1 of 1\n\n" + strings.Repeat("[ ] set the focus with lens short on the stock at the datum, X5.000 Y6.000\n", 40)
	return &page.Page{
		Job: "plate.gcode",
		Verdict: page.Verdict{Holds: true, Text: "Every burn is in focus, at worst 0.32 of 1.34 mm, if the lens is set at X0.000 Y0.000 as on the sheet and the stock lies as measured; not checked: head (not known).",
			Unchecked: []string{"head (not known)"}},
		Setting: []string{"set the focus with lens short on the stock at the datum, X0.000 Y0.000", "then let the controller read Z0 there"},
		Sheet:   []string{sheet}, SheetPages: 1, Caution: "CAUTION: wear eye protection made for the wavelength.",
		Assumed: []string{"no machine profile"}, Trace: j.trace, ZSpeed: 10, ZStep: 0.4,
		Height: func(x, y float64) (float64, bool) {
			h, where := j.placed.At(x, y)
			return h, where == surface.On
		},
		Above: []page.Picture{fromAbove("by-defocus", "defocus"), fromAbove("by-zone", "zone"), fromAbove("by-z", "Z")},
		Path:  &page.Picture{ID: "path-fixed", Alt: "the path", Wide: `<svg viewBox="0 0 100 40"><text x="5" y="20" fill="var(--ink)">fixed</text></svg>`, Table: figures},
		Files: [][2]string{{"program", "plate.gcode, sha256:" + strings.Repeat("0123456789abcdef", 4)}}, Options: [][2]string{{"use", "0.5"}},
		Command: "sagitta report plate.gcode -s sheet.csv -l short.toml -o plate.html", Maker: "sagitta test",
		Figures: []byte("{\n  \"schema\": 1,\n  \"verdict\": \"holds\"\n}\n"),
	}
}

var figures = page.Table{Head: []string{"line", "defocus, mm"}, Right: []bool{false, true}, Rows: [][]string{{"5", "-0.136"}}}

// fromAbove is a picture of the sheet of 100 by 60 mm from above, with its frame.
func fromAbove(id, by string) page.Picture {
	const frame = `<svg viewBox="0 0 220 140" style="width:100%;height:auto" data-x0="0" data-x1="100" data-y0="0" data-y1="60" data-left="10" data-right="210" data-top="10" data-bottom="130">` +
		`<rect x="10" y="10" width="200" height="120" fill="none" stroke="var(--ink)"/></svg>`
	return page.Picture{ID: id, Title: "From above", Switch: by, Alt: "the burns by " + by, Wide: frame, Table: figures}
}
