package ladder

import "fmt"

// OptionError is a wish that makes no ladder: a slip, or something left out.
type OptionError struct {
	What string
	Hint string // what to do; may be empty
}

// Error returns What, one line in lower case.
func (e *OptionError) Error() string { return e.What }

func badOption(hint, format string, args ...any) error {
	return &OptionError{What: fmt.Sprintf(format, args...), Hint: hint}
}

// LimitError is a limit of the bench that the ladder cannot keep.
type LimitError struct {
	What string
	Hint string // what to do; may be empty
}

// Error returns What, one line in lower case.
func (e *LimitError) Error() string { return e.What }

func overLimit(hint, format string, args ...any) error {
	return &LimitError{What: fmt.Sprintf(format, args...), Hint: hint}
}
