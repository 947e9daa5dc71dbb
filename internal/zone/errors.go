package zone

import "fmt"

// Failure is a place where the job cannot be divided as asked; Line is 0
// where it is no one line's.
type Failure struct {
	Line int
	What string
}

// UnmetError tells that the job cannot be divided as asked.
type UnmetError struct {
	Name string
	// Failures are the first of them, Count counts all.
	Failures []Failure
	Count    int
	// NoBurn tells that nothing burns at all.
	NoBurn bool

	// whatever tells that it is so with zones of any width.
	whatever bool
}

// Error names the first place and how many there are.
func (e *UnmetError) Error() string {
	if e.NoBurn {
		return e.Name + ": nothing burns in this program"
	}
	f := e.Failures[0]
	s := fmt.Sprintf("%s: %s", e.Name, f.What)
	if f.Line > 0 {
		s = fmt.Sprintf("%s:%d: %s", e.Name, f.Line, f.What)
	}
	if e.Count > 1 {
		s += fmt.Sprintf(" (the first of %d)", e.Count)
	}
	return s
}

// keptFailures is how many failures are kept with their places.
const keptFailures = 20

// failures keeps the first failures and counts all.
type failures struct {
	list  []Failure
	count int
}

func (f *failures) add(line int, format string, args ...any) {
	if n := len(f.list); n > 0 && line > 0 && f.list[n-1].Line == line {
		return
	}
	f.count++
	if len(f.list) < keptFailures {
		f.list = append(f.list, Failure{line, fmt.Sprintf(format, args...)})
	}
}

// err is the failures as an error, nil where there are none.
func (f *failures) err(name string) error {
	if f.count == 0 {
		return nil
	}
	return &UnmetError{Name: name, Failures: f.list, Count: f.count}
}
