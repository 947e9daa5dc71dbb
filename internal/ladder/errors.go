package ladder

import "sagitta/internal/diag"

// badOption is a wish that makes no ladder: a slip, or something left out.
func badOption(hint, format string, args ...any) error {
	return diag.Errorf(diag.Setting, hint, format, args...)
}

// overLimit is a limit of the bench that the ladder cannot keep.
func overLimit(hint, format string, args ...any) error {
	return diag.Errorf(diag.Unmet, hint, format, args...)
}
