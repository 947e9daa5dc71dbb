package file

import (
	"bufio"
	"fmt"
	"io"

	"sagitta/internal/surface"
)

// Write writes a surface in the grid form, with header lines for what
// its header says. Numbers keep every bit: Read gives the same surface back.
func Write(w io.Writer, s *surface.Surface) error {
	h := s.Header()
	b := bufio.NewWriter(w)
	line := func(key string, v float64) {
		if v != 0 {
			fmt.Fprintf(b, "# %s: %g\n", key, v)
		}
	}
	pair := func(key string, v *[2]float64) {
		if v != nil {
			fmt.Fprintf(b, "# %s: %g,%g\n", key, v[0], v[1])
		}
	}
	b.WriteString("# units: mm\n# heights: up\n")
	if h.Method != "" {
		b.WriteString("# method: " + h.Method + "\n")
	}
	line("error_mm", h.ErrorMM)
	line("noise_mm", h.NoiseMM)
	pair("datum", h.Datum)
	line("wraps_y_mm", h.WrapsYMM)
	pair("shift_mm", h.Shift)
	line("rotate_deg", h.RotateDeg)

	b.WriteString(`y\x`)
	for _, x := range s.X() {
		fmt.Fprintf(b, ",%g", x)
	}
	b.WriteByte('\n')
	for j, y := range s.Y() {
		fmt.Fprintf(b, "%g", y)
		for i := range s.X() {
			if h := s.Height(i, j); h != h {
				b.WriteByte(',')
			} else {
				fmt.Fprintf(b, ",%g", h)
			}
		}
		b.WriteByte('\n')
	}
	return b.Flush()
}
