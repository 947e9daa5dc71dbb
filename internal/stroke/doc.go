// Package stroke is lettering of single strokes, as a pen or a beam draws it:
// digits, letters and the signs that charts and focus series need.
//
// The hand is the project's own: round letters are tall ovals with straight
// flanks, all curves but a few are quarters of ellipses, and digits are open
// enough to be told apart where the line is a tenth of their height. Text
// gives polylines in mm. The package knows nothing of programs, power or feed,
// and it is no reader of fonts.
package stroke
