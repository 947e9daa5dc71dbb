package zone

import (
	"fmt"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
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

// offSurface is the kind of failures that are burns off the surface; all others are of
// one kind.
const offSurface = 1

// offTogether puts one failure in the place of many burns off the surface.
func (s *surveyor) offTogether() {
	follow.OffTogether(&s.fails.UnmetError, offSurface, s.Burns, &s.Closed, s.opt.Surface, func(first Obstacle, count int) Obstacle {
		first.What = strings.Replace(first.What, aBurnLeaves, phrase.Count(count, "burn")+" leave the surface, the first", 1)
		return first
	})
}

const aBurnLeaves = "a burn leaves the surface,"

// off adds a burn off the surface.
func (f *failures) off(line int, from machine.Point) {
	f.Add(offSurface, Obstacle{line, fmt.Sprintf(aBurnLeaves+" from X%.3f Y%.3f", from.X, from.Y)})
}

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
