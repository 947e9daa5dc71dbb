package sheet

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"sagitta/internal/machine"
)

// all gives the lines that were drawn.
func all(t interface{ Fatal(...any) }, l *Lines) (lines orb.MultiLineString) {
	var b bytes.Buffer
	w := bufio.NewWriter(&b)
	if err := errors.Join(l.writeTo(w), w.Flush(), json.Unmarshal([]byte("["+b.String()+"]"), &lines)); err != nil {
		t.Fatal(err)
	}
	return lines
}

// arcMove is a circle's part about a centre, from the angle 0.
func arcMove(r, sweep float64) machine.Move {
	m := machine.Move{Kind: machine.Arc, Burn: true, CX: 3, CY: -2, R0: r, R1: r, Sweep: sweep, Length: r * math.Abs(sweep)}
	m.From = machine.Point{X: 3 + r, Y: -2}
	m.To = machine.Point{X: 3 + r*math.Cos(sweep), Y: -2 + r*math.Sin(sweep)}
	return m
}

// A drawn arc is as long as it is, to a millionth, and near where it is.
func TestArcsAreDrawnAtTheirLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := arcMove(rapid.Float64Range(0.05, 100).Draw(t, "r"), rapid.Float64Range(-2*math.Pi, 2*math.Pi).Draw(t, "sweep"))
		s0 := rapid.Float64Range(0, 0.9).Draw(t, "s0")
		s1 := rapid.Float64Range(s0+0.05, 1).Draw(t, "s1")
		l := NewLines("", 1, new(Drawn))
		l.Arc(&m, s0, s1)
		lines := l.picture()
		want := m.Length * (s1 - s0)
		if got := planar.Length(lines); math.Abs(got-want) > 1e-7*want+1e-9 {
			t.Fatalf("drawn %g, is %g", got, want)
		}
		for i, p := range lines[0][1:] {
			for _, s := range []float64{0.5, 1} { // of the chord to p
				x, y := lines[0][i][0]+(p[0]-lines[0][i][0])*s, lines[0][i][1]+(p[1]-lines[0][i][1])*s
				if off := math.Abs(math.Hypot(x-m.CX, y-m.CY) - m.R0); off > 1.1*arcFine {
					t.Fatalf("%g, %g is %g off an arc of radius %g", x, y, off, m.R0)
				}
			}
		}
	})
}

// However few points are kept in memory, the lines are as long as what was
// drawn, pass its corners in order and have its extent; straight burns along
// an axis are one stretch as long as they go on.
func TestLinesAreWhatWasDrawn(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		l := NewLines(Spool(filepath.Join(dir, "lines.tmp")), 1, new(Drawn))
		l.text = bufio.NewWriterSize(l.file, rapid.SampledFrom([]int{1, 30, 200, 1000}).Draw(t, "at hand"))
		var corners []orb.Point
		var bound orb.Bound = orb.MultiPoint(nil).Bound()
		length := 0.0
		at := orb.Point{}
		for range rapid.IntRange(1, 30).Draw(t, "burns") {
			to := at
			switch rapid.SampledFrom([]string{"on", "on", "aslant", "jump", "point"}).Draw(t, "kind") {
			case "on":
				to[rapid.IntRange(0, 1).Draw(t, "axis")] += float64(rapid.SampledFrom([]int{-1, 1, 1, 2}).Draw(t, "by"))
			case "aslant":
				to = orb.Point{at[0] + 1, at[1] + 3}
			case "jump":
				at = orb.Point{at[0] - 5, at[1] + 2}
				continue
			case "point":
				l.Point(at[0], at[1])
				bound = bound.Extend(at)
				continue
			}
			l.Straight(at[0], at[1], to[0], to[1])
			bound = bound.Extend(at).Extend(to)
			length += math.Hypot(to[0]-at[0], to[1]-at[1])
			corners = append(corners, at, to)
			at = to
		}
		if got := l.Bound(); got != bound {
			t.Fatalf("extent %v, want %v", got, bound)
		}
		lines := all(t, l)
		if !slices.EqualFunc(lines, all(t, l), slices.Equal) {
			t.Fatal("lines are others when asked again")
		}
		if got := planar.Length(lines); math.Abs(got-length) > 1e-9 {
			t.Fatalf("%v is %g long, %g was drawn", lines, got, length)
		}
		k := 0
		for _, line := range lines {
			if len(line) < 2 {
				t.Fatalf("no line: %v", line)
			}
			for i, p := range line {
				for k < len(corners) && corners[k] != p {
					k++
				}
				if k == len(corners) {
					t.Fatalf("%v is not in order of %v", lines, corners)
				}
				if i > 1 && onward(line[i-2], line[i-1], p) {
					t.Fatalf("%v goes on straight at %d", line, i-1)
				}
			}
		}
		_ = os.Remove(string(l.file)) // there is none where nothing is drawn
	})
}

// A file that cannot be written is told of.
func TestLinesTellOfErrors(t *testing.T) {
	l := NewLines(Spool(filepath.Join(t.TempDir(), "none", "lines.tmp")), 1, new(Drawn))
	l.text = bufio.NewWriterSize(l.file, 1)
	l.Straight(0, 0, 1, 1)
	if err := l.writeTo(bufio.NewWriter(io.Discard)); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v", err)
	}
	// Also where there is a file, of a part of them.
	file := filepath.Join(t.TempDir(), "lines.tmp")
	if err := os.WriteFile(file, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	l = NewLines(Spool(file), 1, new(Drawn))
	l.text = bufio.NewWriter(full{})
	l.Straight(0, 0, 1, 1)
	if err := l.writeTo(bufio.NewWriter(io.Discard)); !errors.Is(err, io.ErrShortWrite) {
		t.Errorf("%v", err)
	}
}

// full is a disk on which nothing more fits.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

// The picture has every line string as long as they are few, and one of so many
// evenly beyond.
func TestPictureOfManyLines(t *testing.T) {
	l := NewLines("", 1, new(Drawn))
	l.most, l.of.most = 10, 10
	for i := range 100 {
		l.Straight(float64(i), 0, float64(i), 1)
		if got := l.picture(); len(got) < min(i+1, 2) || len(got) > 5 || i < 5 && len(got) != i+1 {
			t.Fatalf("%d of %d lines: %v", len(got), i+1, got)
		}
	}
	for i, line := range l.picture() {
		if want := float64(32 * i); line[0][0] != want {
			t.Errorf("line %d begins at %v, want %g", i, line[0], want)
		}
	}
}

// A zone has more than its part of the points as long as others leave them.
func TestPictureOfSeveralZones(t *testing.T) {
	drawn := new(Drawn)
	large, small := NewLines("", 2, drawn), NewLines("", 2, drawn)
	large.most, small.most, drawn.most = 50, 50, 100
	for i := range 45 {
		large.Straight(float64(i), 0, float64(i), 1)
	}
	small.Straight(0, 5, 1, 5)
	if n, m := len(large.picture()), len(small.picture()); n != 45 || m != 1 {
		t.Errorf("%d and %d lines are drawn, and there is room for all", n, m)
	}
	for i := range 20 {
		small.Straight(float64(i), 6, float64(i), 7)
		large.Straight(float64(i), 9, float64(i), 10)
	}
	if n, m := len(large.picture()), len(small.picture()); n > 33 || m != 21 || drawn.size != 2*(n+m) {
		t.Errorf("%d and %d lines are drawn, of %d points", n, m, drawn.size)
	}
}
