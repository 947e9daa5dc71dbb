package measured

import "fmt"

// SyntaxError tells of a file of measurements that is not one: what is wrong,
// and where. Line and Col count from 1, Col in bytes; Source is the line.
type SyntaxError struct {
	File      string
	Line, Col int
	What      string
	Source    string
}

// Error returns FILE:LINE:COL: what.
func (e *SyntaxError) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Col, e.What)
}
