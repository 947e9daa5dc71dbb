package stroke

// capital gives the glyph of a letter A to Z.
func capital(r rune) glyph {
	switch r {
	case 'A':
		return glyph{14.6, "M 0 0 L 7.3 20 L 14.6 0 M 2.555 7 L 12.045 7"}
	case 'B':
		return glyph{12.6, "M 6.6 10.8 H 11.6 15.4 V 6.6 20 L 0 20 L 0 0 L 6.8 0 H 12.6 5.4 V 6.8 10.8 L 0 10.8"}
	case 'C':
		return glyph{13, "M 13 15 V 7 20 H 0 12.6 L 0 7.4 V 7 0 H 13 5"}
	case 'D':
		return glyph{13.6, "M 0 0 L 0 20 L 5.4 20 H 13.6 12 L 13.6 8 V 5.4 0 L 0 0"}
	case 'E':
		return glyph{11, "M 11 20 L 0 20 L 0 0 L 11 0 M 0 10.6 L 9 10.6"}
	case 'F':
		return glyph{10.6, "M 10.6 20 L 0 20 L 0 0 M 0 10.6 L 8.8 10.6"}
	case 'G':
		return glyph{13.4, "M 12.8 15.4 V 7 20 H 0 12.6 L 0 7.4 V 7 0 H 13.4 6 L 13.4 9 L 8 9"}
	case 'H':
		return glyph{13, "M 0 20 L 0 0 M 13 20 L 13 0 M 0 10.6 L 13 10.6"}
	case 'I':
		return glyph{0.8, "M 0.4 20 L 0.4 0"}
	case 'J':
		return glyph{9, "M 9 20 L 9 5.4 V 4.4 0 H 0 4.6"}
	case 'K':
		return glyph{12.6, "M 0 20 L 0 0 M 12 20 L 0 7.4 M 4 11.6 L 12.6 0"}
	case 'L':
		return glyph{10, "M 0 20 L 0 0 L 10 0"}
	case 'M':
		return glyph{16, "M 0 0 L 0 20 L 8 5 L 16 20 L 16 0"}
	case 'N':
		return glyph{13, "M 0 0 L 0 20 L 13 0 L 13 20"}
	case 'O':
		return glyph{14, "M 0 12.6 V 7 20 H 14 12.6 L 14 7.4 V 7 0 H 0 7.4 L 0 12.6"}
	case 'P':
		return glyph{12, "M 0 0 L 0 20 L 6.4 20 H 12 14.6 V 6.4 9.2 L 0 9.2"}
	case 'Q':
		return glyph{14.6, "M 0 12.6 V 7 20 H 14 12.6 L 14 7.4 V 7 0 H 0 7.4 L 0 12.6 M 8.6 5.2 L 14.6 -1.6"}
	case 'R':
		return glyph{12.4, "M 0 0 L 0 20 L 6.4 20 H 12 14.7 V 6.4 9.4 L 0 9.4 M 6 9.4 L 12.4 0"}
	case 'S':
		return glyph{12.2, "M 11.4 15.8 V 6.2 20 H 0.6 15.3 C 0.6 9.2 12.2 11.8 12.2 5 V 6.2 0 H 0 4.4"}
	case 'T':
		return glyph{13, "M 0 20 L 13 20 M 6.5 20 L 6.5 0"}
	case 'U':
		return glyph{13, "M 0 20 L 0 7 V 6.5 0 H 13 7 L 13 20"}
	case 'V':
		return glyph{14, "M 0 20 L 7 0 L 14 20"}
	case 'W':
		return glyph{20, "M 0 20 L 5 0 L 10 17 L 15 0 L 20 20"}
	case 'X':
		return glyph{13, "M 0 20 L 13 0 M 13 20 L 0 0"}
	case 'Y':
		return glyph{13.4, "M 0 20 L 6.7 9.6 L 13.4 20 M 6.7 9.6 L 6.7 0"}
	case 'Z':
		return glyph{12.4, "M 0 20 L 12.4 20 L 0 0 L 12.4 0"}
	}
	return glyph{}
}

// small gives the glyph of a letter a to z. Their height without stems is 14
// units.
func small(r rune) glyph {
	switch r {
	case 'a':
		return glyph{10, "M 10 8.6 V 5 14 H 0 8.6 L 0 5.4 V 5 0 H 10 5.4 M 10 14 L 10 0"}
	case 'b':
		return glyph{10, "M 0 20 L 0 0 M 0 5.4 V 5 0 H 10 5.4 L 10 8.6 V 5 14 H 0 8.6"}
	case 'c':
		return glyph{9.4, "M 9.4 10.6 V 5 14 H 0 8.6 L 0 5.4 V 5 0 H 9.4 3.4"}
	case 'd':
		return glyph{10, "M 10 8.6 V 5 14 H 0 8.6 L 0 5.4 V 5 0 H 10 5.4 M 10 20 L 10 0"}
	case 'e':
		return glyph{10, "M 0 7.4 L 10 7.4 L 10 8.6 V 5 14 H 0 8.6 L 0 5.4 V 5 0 H 9.4 3.2"}
	case 'f':
		return glyph{7, "M 7 20 H 2.6 15.8 L 2.6 0 M 0 13.6 L 6.4 13.6"}
	case 'g':
		return glyph{10, "M 10 8.6 V 5 14 H 0 8.6 L 0 5.4 V 5 0 H 10 5.4 M 10 14 L 10 -1.6 V 5 -6 H 0.4 -3.4"}
	case 'h':
		return glyph{10, "M 0 20 L 0 0 M 0 8.8 V 5.2 14 H 10 8.8 L 10 0"}
	case 'i':
		return glyph{2, "M 1 14 L 1 0 M 0 19 V 1 20 H 2 19 V 1 18 H 0 19"}
	case 'j':
		return glyph{5, "M 4 14 L 4 -2 V 0 -6 M 3 19 V 4 20 H 5 19 V 4 18 H 3 19"}
	case 'k':
		return glyph{9.4, "M 0 20 L 0 0 M 9 14 L 0 5 M 3.2 8.2 L 9.4 0"}
	case 'l':
		return glyph{3.4, "M 0.4 20 L 0.4 3.4 V 3.4 0"}
	case 'm':
		return glyph{15.6, "M 0 14 L 0 0 M 0 9.2 V 4 14 H 7.8 9.6 L 7.8 0 M 7.8 9.2 V 11.8 14 H 15.6 9.6 L 15.6 0"}
	case 'n':
		return glyph{10, "M 0 14 L 0 0 M 0 8.8 V 5.2 14 H 10 8.8 L 10 0"}
	case 'o':
		return glyph{10.4, "M 0 8.6 V 5.2 14 H 10.4 8.6 L 10.4 5.4 V 5.2 0 H 0 5.4 L 0 8.6"}
	case 'p':
		return glyph{10, "M 0 14 L 0 -6 M 0 5.4 V 5 0 H 10 5.4 L 10 8.6 V 5 14 H 0 8.6"}
	case 'q':
		return glyph{10, "M 10 8.6 V 5 14 H 0 8.6 L 0 5.4 V 5 0 H 10 5.4 M 10 14 L 10 -6"}
	case 'r':
		return glyph{6.6, "M 0 14 L 0 0 M 0 8.4 V 6.6 14"}
	case 's':
		return glyph{9, "M 8.4 11 V 4.6 14 H 0.5 10.6 C 0.5 6.4 9 8.2 9 3.5 V 4.6 0 H 0 3"}
	case 't':
		return glyph{7, "M 2.8 18.4 L 2.8 4 V 7 0 M 0 13.6 L 6.6 13.6"}
	case 'u':
		return glyph{10, "M 0 14 L 0 5.2 V 4.8 0 H 10 5.2 M 10 14 L 10 0"}
	case 'v':
		return glyph{10.4, "M 0 14 L 5.2 0 L 10.4 14"}
	case 'w':
		return glyph{15, "M 0 14 L 3.8 0 L 7.5 12 L 11.2 0 L 15 14"}
	case 'x':
		return glyph{9.6, "M 0 14 L 9.6 0 M 9.6 14 L 0 0"}
	case 'y':
		return glyph{10.4, "M 0 14 L 5.2 0 M 10.4 14 L 5.2 0 L 3 -6"}
	case 'z':
		return glyph{9.2, "M 0 14 L 9.2 14 L 0 0 L 9.2 0"}
	}
	return glyph{}
}
