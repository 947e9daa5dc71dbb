package stroke

// glyphOf gives the glyph for r, or a box and false where there is none.
func glyphOf(r rune) (glyph, bool) {
	g := sign(r)
	switch {
	case '0' <= r && r <= '9':
		g = digit(r)
	case 'A' <= r && r <= 'Z':
		g = capital(r)
	case 'a' <= r && r <= 'z':
		g = small(r)
	}
	if g.width == 0 && g.outline == "" {
		return glyph{11, "M 0 0 L 0 20 L 11 20 L 11 0 L 0 0"}, false
	}
	return g, true
}

// digit gives the glyph of a digit. The flat head of the 3, the open 6 and 9
// and the straight 7 keep them apart from 8 and 1 when the line is wide.
func digit(r rune) glyph {
	switch r {
	case '0':
		return glyph{12, "M 0 13 V 6 20 H 12 13 L 12 7 V 6 0 H 0 7 L 0 13"}
	case '1':
		return glyph{6, "M 0 15.5 L 6 20 L 6 0"}
	case '2':
		return glyph{12, "M 0.2 15 V 6 20 H 11.7 14.6 C 11.7 10.4 4.2 6.6 0 0 L 12 0"}
	case '3':
		return glyph{12, "M 0.6 20 L 11.4 20 L 5 12.2 H 12 6.2 V 5.8 0 H 0 4.4"}
	case '4':
		return glyph{13, "M 9.4 0 L 9.4 20 L 0 6 L 13 6"}
	case '5':
		return glyph{12, "M 11 20 L 1.6 20 L 0.9 11.2 C 2.2 12.2 4 12.8 6 12.8 H 12 6.4 V 5.8 0 H 0 4"}
	case '6':
		return glyph{12, "M 10.4 20 C 4.6 18 0 12.4 0 6.4 V 6 0 H 12 6.4 V 6 12.8 H 0 6.4"}
	case '7':
		return glyph{12, "M 0 20 L 12 20 L 3.6 0"}
	case '8':
		return glyph{12, "M 6 10.7 H 0.9 15.3 V 6 20 H 11.1 15.3 V 6 10.7 H 0 5.4 V 6 0 H 12 5.4 V 6 10.7"}
	case '9':
		return glyph{12, "M 1.6 0 C 7.4 2 12 7.6 12 13.6 V 6 20 H 0 13.6 V 6 7.2 H 12 13.6"}
	}
	return glyph{}
}

// sign gives the glyph of what is neither a digit nor a letter. The minus and
// the hyphen are one.
func sign(r rune) glyph {
	switch r {
	case ' ':
		return glyph{6, ""}
	case '+':
		return glyph{11, "M 0 10 L 11 10 M 5.5 4.5 L 5.5 15.5"}
	case '-', '−':
		return glyph{10, "M 0 10 L 10 10"}
	case '=':
		return glyph{11, "M 0 13 L 11 13 M 0 7 L 11 7"}
	case '.':
		return glyph{2, "M 0 1 V 1 2 H 2 1 V 1 0 H 0 1"}
	case ',':
		return glyph{2.4, "M 2.4 2 L 2.4 0.4 L 0 -3.4"}
	case ':':
		return glyph{2, "M 0 1 V 1 2 H 2 1 V 1 0 H 0 1 M 0 12 V 1 13 H 2 12 V 1 11 H 0 12"}
	case '/':
		return glyph{10, "M 0 -2 L 10 20"}
	case '\'':
		return glyph{1.6, "M 1.6 20 L 0 14.6"}
	case '(':
		return glyph{4, "M 4 20 C -1.3 14.4 -1.3 1.6 4 -4"}
	case ')':
		return glyph{4, "M 0 20 C 5.3 14.4 5.3 1.6 0 -4"}
	case '°':
		return glyph{6, "M 0 17 V 3 20 H 6 17 V 3 14 H 0 17"}
	case '%':
		return glyph{16, "M 14 20 L 2 0 M 0 16.4 V 3.4 20 H 6.8 16.4 V 3.4 12.8 H 0 16.4 " +
			"M 9.2 3.6 V 12.6 7.2 H 16 3.6 V 12.6 0 H 9.2 3.6"}
	}
	return glyph{}
}
