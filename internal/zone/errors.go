package zone

import (
	"fmt"

	"sagitta/internal/diag"
)

// Obstacle is where the job cannot be divided as asked; Line is 0
// where it is no one line's.
type Obstacle struct {
	Line int
	What string
}

// At returns the line.
func (f Obstacle) At() int { return f.Line }

// String returns What.
func (f Obstacle) String() string { return f.What }

// UnmetError says that the job cannot be divided as asked, with the places.
type UnmetError = diag.UnmetList[Obstacle]

// failures gathers where the job cannot be divided: the first of each line.
type failures struct{ UnmetError }

func (f *failures) add(line int, format string, args ...any) {
	f.Add(0, Obstacle{line, fmt.Sprintf(format, args...)})
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
