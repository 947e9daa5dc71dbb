package program

// Block is one line of a program, as it stands in the file.
//
// The slices of a Block that a Reader hands out point into the Reader's
// buffer and hold until its next call; Hold copies them.
type Block struct {
	// Line is the line number in the file, from 1.
	Line int
	// Raw is the whole line with its line end, byte for byte.
	Raw []byte
	// Words are the words outside comments, in the order of the text.
	Words []Word
	// Comment is the place in Raw of the first comment's opening
	// character, or -1.
	Comment int
	// Optional tells that the block begins with "/": a switch on the
	// controller decides whether it is executed.
	Optional bool
}

// Word is a letter and its number.
type Word struct {
	// Letter is in upper case, whatever the file has.
	Letter byte
	// Num is the exact number.
	Num Number
	// Start and End bound the word in Block.Raw: the letter, any blanks
	// after it, and the number.
	Start, End int
}

// Number is an exact decimal: Mant / 10^Dec. Dec is the number of digits
// that stood after the point, trailing zeros included, 0 to 18.
type Number struct {
	Mant int64
	Dec  int8
}
