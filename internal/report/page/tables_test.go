package page_test

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"sagitta/internal/report/page"
	"sagitta/internal/report/trace"
)

// sum adds up a column of figures.
func sum(t *rapid.T, table page.Table, column int) (total float64) {
	for _, row := range table.Rows {
		if len(row) != len(table.Head) || len(table.Head) != len(table.Right) {
			t.Fatalf("%v under %v, %v", row, table.Head, table.Right)
		}
		v, err := strconv.ParseFloat(row[column], 64)
		if err != nil {
			t.Fatal(err)
		}
		total += v
	}
	return total
}

// Whatever the path, tables lose nothing of what is burned, and are no longer than they
// say.
func TestTables(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := &trace.Trace{Share: trace.Share{MM: make([]float64, 80)}}
		mm := rapid.Float64Range(0, 1e4)
		for k := range tr.Share.MM {
			if rapid.Bool().Draw(t, "any") {
				tr.Share.MM[k] = mm.Draw(t, "mm")
				tr.Share.Total += tr.Share.MM[k]
			}
		}
		for range rapid.IntRange(1, 3).Draw(t, "programs") {
			tr.Programs = append(tr.Programs, trace.Program{Name: "a.gcode", Near: 1, Far: 1})
		}
		burned := 0.0
		for i := range rapid.IntRange(0, 300).Draw(t, "stretches") {
			s := trace.Stretch{Program: min(i/100, len(tr.Programs)-1), Line: i + 1, At: tr.Seconds, Height: trace.Empty(), Defocus: trace.Empty()}
			tr.Seconds += rapid.Float64Range(0, 9).Draw(t, "seconds")
			s.Until = tr.Seconds
			s.C.Lo = rapid.Float64Range(-5, 5).Draw(t, "c")
			s.C.Hi = s.C.Lo + rapid.Float64Range(0, 1).Draw(t, "more")
			if s.Burns = rapid.Bool().Draw(t, "burns"); s.Burns {
				s.BurnMM = mm.Draw(t, "burn")
				s.Height, s.Defocus = s.C, trace.Range{Lo: -1, Hi: 1}
				burned += s.BurnMM
			}
			tr.Stretches = append(tr.Stretches, s)
		}
		near := func(what string, got, want float64, rows int) {
			if math.Abs(got-want) > 0.051*float64(rows+1) {
				t.Fatalf("%s: %g mm of %g", what, got, want)
			}
		}
		shares, depths, programs, heights := page.ShareTable(tr), page.DepthTable(tr), page.ProgramTable(tr), page.HeightTable(tr)
		near("shares", sum(t, shares, 1), tr.Share.Total, len(shares.Rows))
		near("depths", sum(t, depths, 1), tr.Share.Total, len(depths.Rows))
		near("programs", sum(t, programs, 3), burned, len(programs.Rows))
		near("heights", sum(t, heights, 1), burned, len(heights.Rows))
		if rows := len(page.PathTable(tr).Rows); rows > 41 || rows == 0 && len(tr.Stretches) > 0 {
			t.Fatalf("the path has %d rows", rows)
		}
	})
}

// A page of the longest trace there is, with lines as long as they are kept, is below
// 5 MB beside its pictures, and one of a trace that has nothing can be made.
func TestPageSize(t *testing.T) {
	long := strings.Repeat("\u20ac<", 200)
	tr := &trace.Trace{Programs: []trace.Program{{Name: long, Lens: long, Near: 1, Far: 1}}, Share: trace.Share{MM: make([]float64, 80)}, Waiting: 1 << 40}
	for i := range 4000 {
		v := math.Sqrt(float64(i)) / 7
		tr.Stretches = append(tr.Stretches, trace.Stretch{Line: 1e8 + i, LastLine: 2e8 + i, OriginalLine: 1e8 + i, At: 1e5 + v, Until: 1e5 + v, Burns: true, Text: long,
			C: trace.Range{Lo: -v, Hi: v}, Height: trace.Range{Lo: -v, Hi: v}, Defocus: trace.Range{Lo: -v, Hi: v}, Less: v, ZSpeed: 2 * v, ZStep: v, ZStepAt: v, Slowed: 0.1 + v/100, From: orb.Point{100 * v, -v}, To: orb.Point{-v, 100 * v}, BurnMM: 1000 * v})
		tr.Waits = append(tr.Waits, trace.Wait{Line: i, Remark: long})
	}
	for i, tr := range []*trace.Trace{tr, {}, {Stretches: []trace.Stretch{{}}, Programs: []trace.Program{{}}}} {
		p := &page.Page{Job: long, Trace: tr, Figures: []byte("{}")}
		var out bytes.Buffer
		if err := p.Write(&out); err != nil {
			t.Fatal(err)
		}
		if most := 3 << 20; out.Len() > most {
			t.Errorf("page %d has %d bytes", i, out.Len())
		}
	}
}
