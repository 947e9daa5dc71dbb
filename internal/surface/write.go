package surface

import (
	"bufio"
	"io"
	"strconv"
)

// WriteGrid writes the surface in the grid form, with header lines for what
// its header says. Numbers keep every bit: Read gives the same surface back.
func (s *Surface) WriteGrid(w io.Writer) error {
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
	if s.header.Method != "" {
		b.WriteString("# method: " + s.header.Method + "\n")
	}
	line("error_mm", s.header.ErrorMM)
	line("noise_mm", s.header.NoiseMM)
	if d := s.header.Datum; d != nil {
		put("# datum: ", d[0])
		put(",", d[1])
		b.WriteByte('\n')
	}
	line("wraps_y_mm", s.header.WrapsYMM)
	if d := s.header.Shift; d != nil {
		put("# shift_mm: ", d[0])
		put(",", d[1])
		b.WriteByte('\n')
	}
	line("rotate_deg", s.header.RotateDeg)

	b.WriteString(`y\x`)
	for _, x := range s.x {
		put(",", x)
	}
	b.WriteByte('\n')
	for j, y := range s.y {
		put("", y)
		for _, h := range s.z[j*len(s.x) : (j+1)*len(s.x)] {
			if h != h {
				b.WriteByte(',')
			} else {
				put(",", h)
			}
		}
		b.WriteByte('\n')
	}
	return b.Flush()
}
