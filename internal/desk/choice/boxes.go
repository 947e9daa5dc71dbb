package choice

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// sides are the columns of a list of boxes.
var sides = []string{"x0", "y0", "x1", "y1", "height"}

// Boxes writes the boxes that are typed, rows of five numbers with semicolons between, as
// a file of them. What is not right yet is said by the cell; the text is nil then.
func Boxes(rows map[string]string) (text []byte, wrong []Lack) {
	var order []int
	for name := range rows {
		if k, err := strconv.Atoi(name); err == nil && k >= 0 {
			order = append(order, k)
		}
	}
	slices.Sort(order)
	b := []byte(strings.Join(sides, ",") + "\n")
	any := false
	for _, k := range order {
		parts := strings.Split(rows[strconv.Itoa(k)], ";")
		if strings.Trim(strings.Join(parts, ""), " ") == "" {
			continue
		}
		any = true
		out := make([]string, len(sides))
		for i, side := range sides {
			err := fmt.Errorf("nothing is typed")
			if i < len(parts) && strings.TrimSpace(parts[i]) != "" {
				out[i], err = Number(parts[i])
			}
			if err != nil {
				wrong = append(wrong, Lack{fmt.Sprintf("box-%d-%d", k, i), fmt.Sprintf("%s of box %d: %v", side, k+1, err)})
			}
		}
		b = append(b, strings.Join(out, ",")+"\n"...)
	}
	if !any {
		wrong = append(wrong, Lack{"box-0-0", "no box is typed"})
	}
	if wrong != nil {
		return nil, wrong
	}
	return b, nil
}
