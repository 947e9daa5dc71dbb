package touch

import "fmt"

// Error returns FILE:LINE:COL: what.
func (e *Error) Error() string {
	return fmt.Sprintf("%s:%d:1: %s", e.File, max(e.Line, 1), e.What)
}
