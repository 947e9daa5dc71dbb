package zone

import (
	"fmt"

	"sagitta/internal/diag"
)

// Failure is a place where the job cannot be divided as asked; Line is 0
// where it is no one line's.
type Failure struct {
	Line int
	What string
}

// At returns the line.
func (f Failure) At() int { return f.Line }

// String returns What.
func (f Failure) String() string { return f.What }

// UnmetError says that the job cannot be divided as asked, with the places.
type UnmetError = diag.UnmetList[Failure]

// failures gathers where the job cannot be divided: the first of each line.
type failures struct{ UnmetError }

func (f *failures) add(line int, format string, args ...any) {
	f.Add(0, Failure{line, fmt.Sprintf(format, args...)})
}

// refused is that a job cannot be divided, for one reason that is no one line's.
func refused(name, format string, args ...any) error {
	var f failures
	f.add(0, format, args...)
	return f.Err(name)
}

// anyWidthError says that a job cannot be divided by zones of any width.
type anyWidthError struct{ error }

func (e *anyWidthError) Unwrap() error { return e.error }
