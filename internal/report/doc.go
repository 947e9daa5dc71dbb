// Package report draws pictures of what the tool knows. They are made for
// print as well as for a screen: whoever cannot tell their colours apart, or
// has them in grey, can tell them by their dashes.
//
// It draws what it is given and reads no files; flags and exit codes are not
// known here.
package report
