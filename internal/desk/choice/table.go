package choice

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Table is a grid of heights as it is typed: the nodes along x and along y, and for each
// y a row of heights. A height that was not touched is "".
type Table struct {
	X []string   `json:"x"`
	Y []string   `json:"y"`
	Z [][]string `json:"z"`
	// Units are "mm" or "in", of places and heights; Down tells that heights grow away
	// from the lens, and Error is how sure they are, in mm, as typed.
	Units string `json:"units"`
	Down  bool   `json:"down"`
	Error string `json:"error"`
}

func (t *Table) fill() {
	if t.X == nil {
		t.X = []string{"0", "100", "200", "300"}
		t.Y = []string{"0", "100", "200"}
	}
	if t.Units == "" {
		t.Units = "mm"
	}
	for len(t.Z) < len(t.Y) {
		t.Z = append(t.Z, nil)
	}
	t.Z = t.Z[:len(t.Y)]
	for j, row := range t.Z {
		for len(row) < len(t.X) {
			row = append(row, "")
		}
		t.Z[j] = row[:len(t.X)]
	}
}

func (t *Table) check() error {
	if len(t.X) > mostNodes || len(t.Y) > mostNodes || len(t.Z) > mostNodes {
		return fmt.Errorf("heights.table: %d by %d nodes; %d are the most along a side", len(t.X), len(t.Y), mostNodes)
	}
	rows := append([][]string{t.X, t.Y, {t.Error}}, t.Z...)
	for _, row := range rows {
		if len(row) > mostNodes {
			return fmt.Errorf("heights.table: a row of %d; %d are the most", len(row), mostNodes)
		}
		for _, text := range row {
			if err := checkText("heights.table", text); err != nil {
				return err
			}
		}
	}
	return nil
}

var plainNumber = regexp.MustCompile(`^[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)$`)

// Number reads a number as people type it: with a decimal comma or point, and with the
// long minus that other programs write. It gives it as it is written in files.
func Number(text string) (string, error) {
	n := strings.NewReplacer(",", ".", "\u2212", "-", "\u00a0", "", "\u202f", "").Replace(strings.TrimSpace(text))
	v, err := strconv.ParseFloat(n, 64)
	if err != nil || !plainNumber.MatchString(n) || math.Abs(v) > 1e6 {
		return "", fmt.Errorf("%q is not a number", text)
	}
	return n, nil
}

// Cell names a cell of the page: "x-2", "y-0", "z-1-3" for row 1.
type Cell = string

// CSV writes the table as a file of heights, and says what is not right yet, by cell. The
// text is nil where something is.
func (t *Table) CSV() (text []byte, wrong []Lack) {
	var b strings.Builder
	up := "up"
	if t.Down {
		up = "down"
	}
	fmt.Fprintf(&b, "# units: %s\n# heights: %s\n", t.Units, up)
	if t.Error != "" {
		n, err := Number(t.Error)
		if err == nil && strings.HasPrefix(n, "-") {
			err = fmt.Errorf("%q is below zero", t.Error)
		}
		if err != nil {
			wrong = append(wrong, Lack{"table-error", "how sure the heights are: " + err.Error()})
		}
		fmt.Fprintf(&b, "# error_mm: %s\n", n)
	}
	b.WriteString(`y\x`)
	node := func(axis string, k int, all []string) string {
		n, err := Number(all[k])
		if err == nil && slices.Contains(all[:k], all[k]) {
			err = fmt.Errorf("%s stands there twice", all[k])
		}
		if err != nil {
			wrong = append(wrong, Lack{fmt.Sprintf("%s-%d", axis, k), fmt.Sprintf("node %d along %s: %v", k+1, axis, err)})
		}
		return n
	}
	for k := range t.X {
		b.WriteString("," + node("x", k, t.X))
	}
	b.WriteByte('\n')
	for j := range t.Y {
		b.WriteString(node("y", j, t.Y))
		for i := range t.X {
			b.WriteByte(',')
			if strings.TrimSpace(t.Z[j][i]) == "" {
				continue
			}
			n, err := Number(t.Z[j][i])
			if err != nil {
				wrong = append(wrong, Lack{fmt.Sprintf("z-%d-%d", j, i), fmt.Sprintf("the height at X%s Y%s: %v", t.X[i], t.Y[j], err)})
			}
			b.WriteString(n)
		}
		b.WriteByte('\n')
	}
	if wrong != nil {
		return nil, wrong
	}
	return []byte(b.String()), nil
}

// Missing counts the heights that are not typed yet, and gives the first of them.
func (t *Table) Missing() (missing, all int, first string) {
	for j := range t.Y {
		for i := range t.X {
			all++
			if strings.TrimSpace(t.Z[j][i]) != "" {
				continue
			}
			if missing++; first == "" {
				first = fmt.Sprintf("X%s Y%s", t.X[i], t.Y[j])
			}
		}
	}
	return missing, all, first
}
