package file

import (
	"bufio"
	"io"
	"strconv"

	"sagitta/internal/surface"
)

// Write writes a surface in the grid form, with header lines for what
// its header says. Numbers keep every bit: Read gives the same surface back.
func Write(w io.Writer, s *surface.Surface) error {
	h := s.Header()
	b := bufio.NewWriter(w)
	var num []byte
	put := func(text string, v float64) {
		b.WriteString(text)
		num = strconv.AppendFloat(num[:0], v, 'g', -1, 64)
		b.Write(num)
	}
	line := func(key string, v float64) {
		if v != 0 {
			put("# "+key+": ", v)
			b.WriteByte('\n')
		}
	}
	b.WriteString("# units: mm\n# heights: up\n")
	if h.Method != "" {
		b.WriteString("# method: " + h.Method + "\n")
	}
	line("error_mm", h.ErrorMM)
	line("noise_mm", h.NoiseMM)
	if d := h.Datum; d != nil {
		put("# datum: ", d[0])
		put(",", d[1])
		b.WriteByte('\n')
	}
	line("wraps_y_mm", h.WrapsYMM)
	if d := h.Shift; d != nil {
		put("# shift_mm: ", d[0])
		put(",", d[1])
		b.WriteByte('\n')
	}
	line("rotate_deg", h.RotateDeg)

	b.WriteString(`y\x`)
	for _, x := range s.X() {
		put(",", x)
	}
	b.WriteByte('\n')
	for j, y := range s.Y() {
		put("", y)
		for i := range s.X() {
			if h := s.Height(i, j); h != h {
				b.WriteByte(',')
			} else {
				put(",", h)
			}
		}
		b.WriteByte('\n')
	}
	return b.Flush()
}
